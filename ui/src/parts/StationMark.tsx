import type { ReactNode } from "react";

import type { StationLine } from "../data/job";
import { words } from "../words";

/** The state of a station as a shape with its name for who cannot see it: empty box, box with a tick, box with a mark. */
export function StationMark({ state }: { state: StationLine["state"] }): ReactNode {
  return (
    <svg className="station-mark" viewBox="0 0 20 20" width="18" height="18" role="img" aria-label={words.card.state[state]}>
      <rect x="2" y="2" width="16" height="16" fill="none" stroke="currentColor" strokeWidth="2" />
      {state === "signed" && <path d="M5 10l4 4 7-9" fill="none" stroke="currentColor" strokeWidth="2.5" />}
      {state === "needs a look" && <path d="M10 5v6M10 13.5v2" fill="none" stroke="currentColor" strokeWidth="2.8" />}
    </svg>
  );
}
