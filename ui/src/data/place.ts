// Which setup, program and line a page shows: in the address, so that it can be sent to somebody and the browser's back goes back.

import { useCallback } from "react";

import { address, useNavigation } from "../app/router";
import { useJob } from "./job";

export interface Place {
  setup: string;
  file: string;
  line: number;
  /** Show another place; an empty file or setup takes the first there is. */
  show: (to: { setup?: string; file?: string; line?: number }) => void;
}

/** The place of this page; what the address does not say, or says wrong, is the first there is. */
export function usePlace(): Place {
  const { programs: programsOf, setups } = useJob();
  const { location, go } = useNavigation();
  const asked = location.query.get("setup") ?? "";
  const setup = setups.includes(asked) ? asked : (setups[0] ?? "");
  const askedFile = location.query.get("file") ?? "";
  const file = askedFile !== "" ? askedFile : (programsOf(setup)[0] ?? "");
  const line = Math.max(1, Number.parseInt(location.query.get("line") ?? "1", 10) || 1);
  const show = useCallback<Place["show"]>(
    (to) => {
      const next = to.setup ?? setup;
      const moved = to.setup !== undefined && to.setup !== setup;
      const query = { setup: next, file: to.file ?? (moved ? undefined : file), line: to.line ?? (moved ? undefined : line) };
      go(address(location.path, {}, query), { replace: true });
    },
    [setup, file, line, go, location.path],
  );
  return { setup, file, line, show };
}
