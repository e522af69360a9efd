import type { PageDescription } from "../../app/pages";
import { words } from "../../words";

export const page: PageDescription = {
  pattern: "/jobs/:job/kit",
  station: "kit",
  title: ({ job }) => words.kit.title(job ?? ""),
  load: () => import("./Kit"),
};
