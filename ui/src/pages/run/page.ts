import type { PageDescription } from "../../app/pages";
import { words } from "../../words";

export const page: PageDescription = {
  pattern: "/jobs/:job/run",
  station: "run",
  title: ({ job }) => words.run.title(job ?? ""),
  load: () => import("./Run"),
};
