import type { PageDescription } from "../../app/pages";
import { words } from "../../words";

export const page: PageDescription = {
  pattern: "/shop",
  title: () => words.shop.title,
  load: () => import("./Shop"),
  offered: { among: "shop", label: words.shop.label, order: 1 },
};
