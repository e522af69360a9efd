// What a page shows, fetched once and kept: several parts of a page that ask for the same get the same; what somebody changes is
// fetched anew; what cannot be fetched now is tried again by itself while the old is still shown.

import { useCallback, useEffect, useMemo, useSyncExternalStore } from "react";

import type { Answers } from "../wire/api.gen";
import { type Address, type Asking, Away, bytes, type Got, path, read } from "./api";

export interface Held<Value> {
  value: Value | undefined;
  error: Error | undefined;
  fetching: boolean;
}

const RETRY_MS = [500, 1000, 2000, 4000, 8000];
const KEPT_UNUSED = 40;

class Entry {
  held: Held<unknown> = { value: undefined, error: undefined, fetching: false };
  readonly listeners = new Set<() => void>();
  stale = true;
  private tries = 0;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private round = 0;

  constructor(
    private readonly fetcher: () => Promise<unknown>,
    readonly lasting: boolean,
  ) {}

  private say(held: Held<unknown>): void {
    this.held = held;
    for (const listener of this.listeners) listener();
  }

  /** Fetch if what is held may be old and somebody looks at it. */
  refresh(): void {
    if (!this.stale || this.listeners.size === 0) return;
    this.stale = false;
    clearTimeout(this.timer);
    this.timer = undefined;
    const round = ++this.round;
    this.say({ ...this.held, fetching: true });
    this.fetcher().then(
      (value) => {
        if (round !== this.round) return;
        this.tries = 0;
        this.say({ value: same(value, this.held.value) ? this.held.value : value, error: undefined, fetching: false });
      },
      (error: unknown) => {
        if (round !== this.round) return;
        this.say({ ...this.held, error: error instanceof Error ? error : new Error(String(error)), fetching: false });
        if (error instanceof Away) this.later();
      },
    );
  }

  private later(): void {
    const wait = RETRY_MS[Math.min(this.tries++, RETRY_MS.length - 1)] ?? 8000;
    this.timer = setTimeout(() => {
      this.stale = true;
      this.refresh();
    }, wait);
  }

  set(value: unknown): void {
    this.round++;
    this.stale = false;
    this.say({ value, error: undefined, fetching: false });
  }

  forget(): void {
    clearTimeout(this.timer);
  }
}

/** Whether a document says the same as the one held: then the one held stays, and nothing that was made from it is made again. */
function same(fresh: unknown, held: unknown): boolean {
  if (held === undefined || typeof fresh !== "object" || fresh === null || !("document" in fresh)) return false;
  return JSON.stringify(fresh) === JSON.stringify(held);
}

const entries = new Map<string, Entry>();

function entry(key: string, fetcher: () => Promise<unknown>, lasting = false): Entry {
  let found = entries.get(key);
  if (found === undefined) {
    tidy();
    found = new Entry(fetcher, lasting);
    entries.set(key, found);
  }
  return found;
}

/** Let go of the oldest that nobody looks at. */
function tidy(): void {
  const unused = [...entries].filter(([, one]) => one.listeners.size === 0);
  for (const [key, one] of unused.slice(0, Math.max(0, unused.length - KEPT_UNUSED))) {
    one.forget();
    entries.delete(key);
  }
}

function useEntry<Value>(key: string | undefined, fetcher: () => Promise<unknown>, lasting = false): Held<Value> & { again: () => void } {
  const found = useMemo(() => (key === undefined ? undefined : entry(key, fetcher, lasting)), [key]); // the key says what is fetched
  const subscribe = useCallback(
    (listener: () => void) => {
      found?.listeners.add(listener);
      return () => found?.listeners.delete(listener);
    },
    [found],
  );
  const held = useSyncExternalStore(subscribe, () => found?.held ?? NOTHING);
  useEffect(() => found?.refresh(), [found]);
  const again = useCallback(() => {
    if (found !== undefined) {
      found.stale = true;
      found.refresh();
    }
  }, [found]);
  return { value: held.value as Value | undefined, error: held.error, fetching: held.fetching, again };
}

const NOTHING: Held<unknown> = { value: undefined, error: undefined, fetching: false };

/** A document of the server, kept up to date; `undefined` as address asks for nothing. */
export function useDocument<A extends Address & `GET ${string}`>(
  address: A | undefined,
  asking: Asking = {},
): Held<Got<Answers[A]>> & { again: () => void } {
  const key = address === undefined ? undefined : path(address, asking);
  return useEntry(key, () => read(address as A, asking), asking.lasting);
}

/** Bytes of the server made into something by `made`, kept. */
export function useBytes<Value>(
  address: (Address & `GET ${string}`) | undefined,
  made: (data: ArrayBuffer) => Value,
  asking: Asking = {},
): Held<Value> & { again: () => void } {
  const key = address === undefined ? undefined : path(address, asking);
  return useEntry(key, async () => made(await bytes(address as Address & `GET ${string}`, asking)), asking.lasting);
}

/** What was said about these addresses (the beginnings of their paths) may be old: fetch it anew where somebody looks at it. */
export function outdated(...beginnings: string[]): void {
  for (const [key, one] of entries) {
    if (!(one.lasting && one.held.value !== undefined) && beginnings.some((beginning) => key.startsWith(beginning))) {
      one.stale = true;
      one.refresh();
    }
  }
}

/** Everything of a job may be old. */
export function jobOutdated(job: string): void {
  outdated(`/api/jobs/${encodeURIComponent(job)}`, "/api/jobs");
}

/** Show this as the answer of an address at once: it came with something else. */
export function supply(address: Address & `GET ${string}`, asking: Asking, value: unknown): void {
  entry(path(address, asking), () => read(address, asking)).set(value);
}
