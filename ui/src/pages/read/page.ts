import type { PageDescription } from "../../app/pages";
import { words } from "../../words";

export const page: PageDescription = {
  pattern: "/jobs/:job/read",
  station: "read",
  title: ({ job }) => words.read.title(job ?? ""),
  load: () => import("./Read"),
  sentence: () => import("./Sentence"),
};
