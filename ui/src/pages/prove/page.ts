import type { PageDescription } from "../../app/pages";
import { words } from "../../words";

export const page: PageDescription = {
  pattern: "/jobs/:job/prove",
  station: "prove",
  title: ({ job }) => words.prove.title(job ?? ""),
  load: () => import("./Prove"),
};
