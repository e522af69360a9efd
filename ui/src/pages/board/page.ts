import type { PageDescription } from "../../app/pages";
import { words } from "../../words";

export const page: PageDescription = {
  pattern: "/",
  title: () => words.board.title,
  load: () => import("./Board"),
  offered: { among: "shop", label: words.board.title, order: 0 },
};
