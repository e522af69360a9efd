import type { PageDescription } from "../../app/pages";
import { words } from "../../words";

export const page: PageDescription = {
  pattern: "/jobs/:job/touch",
  station: "touch",
  title: ({ job }) => words.touch.title(job ?? ""),
  load: () => import("./Touch"),
};
