import type { PageDescription } from "../../app/pages";
import { words } from "../../words";

export const page: PageDescription = {
  pattern: "/shop/:kind/:name",
  title: ({ name }) => words.shop.thingTitle(name ?? ""),
  load: () => import("./Thing"),
};
