import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";

import { COARSE, Follower } from "../src/bench/metal";

interface Asked {
  row: number;
  triangles: number | undefined;
  signal: AbortSignal;
  come: (boundMm: number) => void;
  fail: (error: Error) => void;
}

/** A server that answers when it is told to. */
function server(again = false) {
  const asked: Asked[] = [];
  const seen: string[] = [];
  const follower = new Follower<{ boundMm: number }>({
    fetch: (row, triangles, signal) =>
      new Promise((resolve, reject) => {
        signal.addEventListener("abort", () => reject(new Error("given up")));
        asked.push({ row, triangles, signal, come: (boundMm) => resolve({ boundMm }), fail: reject });
      }),
    show: (surface, row) => seen.push(`${row} within ${surface.boundMm}`),
    failed: (error) => {
      seen.push(String(error));
      return again;
    },
  });
  const last = (): Asked => {
    const one = asked.at(-1);
    if (one === undefined) throw new Error("nothing was asked");
    return one;
  };
  return { asked, seen, follower, last };
}

describe("the metal that follows the moment", () => {
  beforeEach(() => void vi.useFakeTimers());
  afterEach(() => void vi.useRealTimers());
  const pass = (ms = 100) => vi.advanceTimersByTimeAsync(ms);

  it("is shown coarse first and then in full", async () => {
    const { asked, seen, follower, last } = server();
    follower.want(7);
    await pass();
    expect([last().row, last().triangles]).toEqual([7, COARSE]);
    last().come(0.4);
    await pass();
    expect([last().row, last().triangles]).toEqual([7, undefined]);
    last().come(0);
    await pass(10_000);
    expect(seen).toEqual(["7 within 0.4", "7 within 0"]);
    expect(asked.length).toBe(2);
  });

  it("is asked for once where the coarse one is all there is", async () => {
    const { asked, follower, last } = server();
    follower.want(7);
    await pass();
    last().come(0);
    await pass(10_000);
    expect(asked.length).toBe(1);
  });

  it("skips the moments that were passed over while one was being drawn", async () => {
    const { asked, seen, follower, last } = server();
    follower.want(1);
    await pass();
    for (const row of [2, 3, 4]) follower.want(row);
    await pass(1000);
    expect(asked.length).toBe(1);
    last().come(0.4);
    await pass();
    expect([last().row, last().triangles, asked.length]).toEqual([4, COARSE, 2]);
    expect(seen).toEqual(["1 within 0.4"]);
  });

  it("gives up the full surface of a moment that was left, not the coarse one", async () => {
    const { asked, seen, follower, last } = server();
    follower.want(1);
    await pass();
    last().come(0.4);
    await pass();
    const full = last();
    follower.want(2);
    expect(full.signal.aborted).toBe(true);
    expect(asked[0]?.signal.aborted).toBe(false);
    await pass();
    expect([last().row, last().triangles]).toEqual([2, COARSE]);
    last().come(0.3);
    await pass();
    last().come(0);
    await pass(10_000);
    expect(seen).toEqual(["1 within 0.4", "2 within 0.3", "2 within 0"]);
  });

  it("asks again in a while where the server was away, and at once for another moment", async () => {
    const { asked, seen, follower, last } = server(true);
    follower.want(1);
    await pass();
    last().fail(new Error("away"));
    await pass();
    expect(asked.length).toBe(1);
    await pass(3000);
    expect(asked.length).toBe(2);
    follower.want(5);
    last().fail(new Error("away"));
    await pass();
    expect([last().row, asked.length]).toEqual([5, 3]);
    expect(seen).toEqual(["Error: away", "Error: away"]);
  });

  it("says once that it cannot be had, and rests", async () => {
    const { asked, seen, follower, last } = server(false);
    follower.want(1);
    await pass();
    last().fail(new Error("gone"));
    await pass(10_000);
    expect([asked.length, seen]).toEqual([1, ["Error: gone"]]);
  });

  it("ends", async () => {
    const { asked, seen, follower } = server();
    follower.want(1);
    await pass();
    follower.end();
    follower.want(2);
    await pass(10_000);
    expect([asked.length, asked[0]?.signal.aborted, seen]).toEqual([1, true, []]);
  });
});
