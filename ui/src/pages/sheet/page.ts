import type { PageDescription } from "../../app/pages";
import { words } from "../../words";

export const page: PageDescription = {
  pattern: "/jobs/:job/sheet",
  title: ({ job }) => words.sheet.title(job ?? ""),
  load: () => import("./Sheet"),
  offered: { among: "job", label: words.sheet.label, order: 1 },
};
