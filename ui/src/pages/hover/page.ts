import type { PageDescription } from "../../app/pages";
import { words } from "../../words";

export const page: PageDescription = {
  pattern: "/jobs/:job/hover",
  station: "hover",
  title: ({ job }) => words.hover.title(job ?? ""),
  load: () => import("./Hover"),
};
