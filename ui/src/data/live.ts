// What happens on the server while a page is open: somebody changes the job, a calculation goes on. The browser takes a broken stream
// up again by itself; the server tells what was missed.

import { useEffect, useRef, useState } from "react";

import { type Seconds, seconds } from "../units/units";
import { reached } from "./api";
import { jobOutdated } from "./resource";

export interface Change {
  revision: number;
  by: string;
}

/** Keep everything of a job fresh while the page is open, and tell of changes somebody else made. */
export function useJobEvents(job: string, me: string): Change | undefined {
  const [change, setChange] = useState<Change>();
  const seen = useRef<{ job: string; revision: number }>({ job: "", revision: 0 });
  useEffect(() => {
    const source = new EventSource(`/api/jobs/${encodeURIComponent(job)}/events`);
    source.addEventListener("changed", (event: MessageEvent<string>) => {
      const told: { revision: number; by?: string } = JSON.parse(event.data);
      const before = seen.current.job === job ? seen.current.revision : 0;
      seen.current = { job, revision: told.revision };
      jobOutdated(job);
      if (before > 0 && told.revision > before && told.by !== undefined && told.by !== me) {
        setChange({ revision: told.revision, by: told.by });
      }
    });
    source.onopen = () => reached(true);
    source.onerror = () => reached(false);
    return () => source.close();
  }, [job, me]);
  return change;
}

export interface Step {
  what: string;
  done: number;
  total: number;
  /** Time left as the server reckons it, if it can. */
  left: Seconds | undefined;
}

export interface Watched {
  step: Step | undefined;
  ended: boolean;
}

interface StepDocument {
  what: string;
  done: number;
  total: number;
  left_s?: number | null;
}

/** Watch a calculation until it ends; `onEnd` hears it. No number, nothing to watch. */
export function useCalculation(number: number | undefined, onEnd: () => void): Watched {
  const [watched, setWatched] = useState<Watched & { number: number | undefined }>({ number, step: undefined, ended: false });
  const end = useRef(onEnd);
  end.current = onEnd;
  useEffect(() => {
    if (number === undefined) return undefined;
    setWatched({ number, step: undefined, ended: false });
    const source = new EventSource(`/api/calculations/${number}/events`);
    source.addEventListener("step", (event: MessageEvent<string>) => {
      const told: StepDocument = JSON.parse(event.data);
      const left = told.left_s === null || told.left_s === undefined ? undefined : seconds(told.left_s);
      setWatched({ number, step: { what: told.what, done: told.done, total: told.total, left }, ended: false });
    });
    source.addEventListener("ended", () => {
      source.close();
      setWatched((held) => ({ ...held, ended: true }));
      end.current();
    });
    source.onopen = () => reached(true);
    return () => source.close();
  }, [number]);
  return watched;
}
