import type { PageDescription } from "../../app/pages";
import { words } from "../../words";

export const page: PageDescription = {
  pattern: "/people",
  title: () => words.people.title,
  load: () => import("./People"),
  offered: { among: "shop", label: words.people.label, order: 2, needs: "administrator" },
};
