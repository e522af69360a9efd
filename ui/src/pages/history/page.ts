import type { PageDescription } from "../../app/pages";
import { words } from "../../words";

export const page: PageDescription = {
  pattern: "/jobs/:job/history",
  title: ({ job }) => words.history.title(job ?? ""),
  load: () => import("./History"),
  offered: { among: "job", label: words.history.label, order: 3 },
};
