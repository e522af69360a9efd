import type { PageDescription } from "../../app/pages";
import { words } from "../../words";

export const page: PageDescription = {
  pattern: "/jobs/:job",
  title: ({ job }) => words.card.title(job ?? ""),
  load: () => import("./Card"),
};
