// The pages there are. A page is a folder under src/pages with a file page.ts that describes it; nothing else has to be touched.

import type { ComponentType } from "react";

import type { Params } from "./router";

export type StationName = "read" | "kit" | "prove" | "touch" | "hover" | "piece" | "run";

export interface PageProps {
  params: Params;
}

export interface PageDescription {
  /** For example /jobs/:job/prove. */
  pattern: string;
  /** The page's name for the head of the window. */
  title: (params: Params) => string;
  /** The code, fetched when the page is first shown. */
  load: () => Promise<{ default: ComponentType<PageProps> }>;
  /** The station of the route card this page is. */
  station?: StationName;
  /** The station's one most important sentence, where the page itself says it better than the server's card does. */
  sentence?: () => Promise<{ default: ComponentType }>;
  /** Where the page is offered besides: among the shop-wide links at the top ("shop"), or beside the stations of a job ("job"). */
  offered?: { among: "shop" | "job"; label: string; order: number; needs?: "setter" | "lead" | "administrator" };
  /** Shown in full when nobody is signed in. */
  open?: boolean;
}

const found = import.meta.glob<{ page: PageDescription }>("../pages/*/page.ts", { eager: true });

export const pages: readonly PageDescription[] = Object.values(found).map((one) => one.page);

/** The page of a station, if it exists. */
export function pageOf(station: string): PageDescription | undefined {
  return pages.find((one) => one.station === station);
}

/** The pages offered somewhere, in their order. */
export function offered(among: "shop" | "job"): readonly PageDescription[] {
  return pages.filter((one) => one.offered?.among === among).sort((a, b) => (a.offered?.order ?? 0) - (b.offered?.order ?? 0));
}
