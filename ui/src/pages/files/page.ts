import type { PageDescription } from "../../app/pages";
import { words } from "../../words";

export const page: PageDescription = {
  pattern: "/jobs/:job/files",
  title: ({ job }) => words.files.title(job ?? ""),
  load: () => import("./Files"),
  offered: { among: "job", label: words.files.label, order: 2 },
};
