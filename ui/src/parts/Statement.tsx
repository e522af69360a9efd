// Sending something to the server from a page: busy while it goes, the refusal shown where it was asked for.

import { type ReactNode, useCallback, useState } from "react";

import { jobOutdated } from "../data/resource";
import { Problems } from "./Problems";

/** `run` does one piece of work at a time; `problems` shows what was refused. */
export function useSending(job: string): { busy: boolean; run: (work: () => Promise<unknown>) => Promise<boolean>; problems: ReactNode } {
  const [busy, setBusy] = useState(false);
  const [error, setError] = useState<Error>();
  const run = useCallback(
    async (work: () => Promise<unknown>): Promise<boolean> => {
      setBusy(true);
      setError(undefined);
      try {
        await work();
        jobOutdated(job);
        return true;
      } catch (stop) {
        setError(stop instanceof Error ? stop : new Error(String(stop)));
        return false;
      } finally {
        setBusy(false);
      }
    },
    [job],
  );
  return { busy, run, problems: <Problems error={error} /> };
}
