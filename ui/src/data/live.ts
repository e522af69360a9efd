// What happens on the server while a page is open: somebody changes the job, a calculation goes on. The browser takes a broken stream
// up again by itself; the server tells what was missed.

import { useEffect, useRef, useState } from "react";

import { type Seconds, seconds } from "../units/units";
import { reached } from "./api";
import { jobOutdated } from "./resource";

type Listeners = Record<string, (event: MessageEvent<string>) => void>;

const AGAIN_MS = 5000;

/**
 * Listen to a stream while the page is in sight; gives what ends it. A page out of sight lets go, because a browser keeps only few
 * connections to one server for all its pages together; when it comes back the server tells what was missed. A stream that the server
 * refuses (nobody is signed in any more, the job is gone) is asked for again after a while.
 */
export function listened(url: string, listeners: Listeners): () => void {
  let source: EventSource | undefined;
  let timer: ReturnType<typeof setTimeout> | undefined;
  const close = (): void => {
    clearTimeout(timer);
    source?.close();
    source = undefined;
  };
  const open = (): void => {
    close();
    if (document.visibilityState === "hidden") return;
    const opened = new EventSource(url);
    source = opened;
    for (const [name, listener] of Object.entries(listeners)) opened.addEventListener(name, listener);
    opened.onopen = () => reached(true);
    opened.onerror = () => {
      if (opened.readyState === EventSource.CLOSED) timer = setTimeout(open, AGAIN_MS);
      else reached(false);
    };
  };
  const seen = (): void => (document.visibilityState === "hidden" ? close() : open());
  document.addEventListener("visibilitychange", seen);
  open();
  return () => {
    document.removeEventListener("visibilitychange", seen);
    close();
  };
}

export interface Change {
  revision: number;
  by: string;
}

/** Keep everything of a job fresh while the page is open, and tell of changes somebody else made. */
export function useJobEvents(job: string, me: string): Change | undefined {
  const [change, setChange] = useState<Change>();
  const seen = useRef<{ job: string; revision: number }>({ job: "", revision: 0 });
  useEffect(() => {
    const changed = (event: MessageEvent<string>): void => {
      const told: { revision: number; by?: string } = JSON.parse(event.data);
      const before = seen.current.job === job ? seen.current.revision : 0;
      seen.current = { job, revision: told.revision };
      jobOutdated(job);
      if (before > 0 && told.revision > before && told.by !== undefined && told.by !== me) {
        setChange({ revision: told.revision, by: told.by });
      }
    };
    return listened(`/api/jobs/${encodeURIComponent(job)}/events`, { changed });
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
    const step = (event: MessageEvent<string>): void => {
      const told: StepDocument = JSON.parse(event.data);
      const left = told.left_s === null || told.left_s === undefined ? undefined : seconds(told.left_s);
      setWatched({ number, step: { what: told.what, done: told.done, total: told.total, left }, ended: false });
    };
    const ended = (): void => {
      stop();
      setWatched((held) => ({ ...held, ended: true }));
      end.current();
    };
    const stop = listened(`/api/calculations/${number}/events`, { step, ended });
    return stop;
  }, [number]);
  return watched;
}
