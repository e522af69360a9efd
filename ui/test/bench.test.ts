import { describe, expect, it } from "vitest";

import { outline } from "../src/bench/scene";
import { ordered } from "../src/bench/surface";
import { tipAt, type Track } from "../src/bench/track";

describe("the surface by tools", () => {
  const surface = {
    corners: new Float32Array(12),
    triangles: Int32Array.of(0, 1, 2, 1, 2, 3, 0, 1, 3, 0, 2, 3),
    motion: Int32Array.of(5, -1, 2, 7),
    boundMm: 0,
  };
  it("keeps each triangle with the motion that cut it", () => {
    const order = ordered(surface, (motion) => (motion < 0 ? 0 : motion < 5 ? 1 : 2), 2);
    expect([...order.motion]).toEqual([-1, 2, 5, 7]);
    expect([...order.index]).toEqual([1, 2, 3, 0, 1, 3, 0, 1, 2, 0, 2, 3]);
    expect(order.runs).toEqual([
      { kind: 0, start: 0, count: 3 },
      { kind: 1, start: 3, count: 3 },
      { kind: 2, start: 6, count: 6 },
    ]);
  });
  it("leaves out kinds that have no triangle, and holds with none at all", () => {
    expect(ordered(surface, () => 1, 3).runs).toEqual([{ kind: 1, start: 0, count: 12 }]);
    const empty = { corners: new Float32Array(), triangles: new Int32Array(), motion: new Int32Array(), boundMm: 0 };
    expect(ordered(empty, () => 0, 2).runs).toEqual([]);
  });
});

describe("the outline of a revolved piece", () => {
  const piece = { part: "cutting", meridian: "line", z0: 0, z1: 30, r0: 2, r1: 8, e: 0, f: 0, rho: 0 } as const;
  it("is closed to the axis at both ends", () => {
    expect(outline(piece)).toEqual([[0, 0], [2, 0], [8, 30], [0, 30]]);
  });
  it("follows an arc: half a ball of 8 mm", () => {
    const ball = outline({ ...piece, meridian: "arc", z0: 0, z1: 8, r0: 0, r1: 8, e: 0, f: 8, rho: 8 });
    for (const [r, z] of ball.slice(1, -1)) expect(Math.hypot(r, z - 8)).toBeCloseTo(8, 9);
    expect(ball.at(1)?.[0]).toBeCloseTo(0, 9);
    expect(ball.at(-2)?.[0]).toBeCloseTo(8, 9);
  });
});

describe("the tip", () => {
  /** Motion 2 goes 10 mm along X, motion 3 goes 6 mm along Y in two chords, motion 6 begins with another tool. */
  const track: Track = {
    point: Float32Array.of(0, 0, 0, 10, 0, 0, 10, 2, 0, 10, 6, 0, 50, 50, 50, 50, 50, 20),
    motion: Int32Array.of(2, 2, 3, 3, 6, 6),
    share: Float32Array.of(0, 1, 1 / 3, 1, 0, 1),
    joined: Uint8Array.of(0, 1, 1, 1, 0, 1),
    count: 6,
  };
  const close = (motion: number, share: number, expected: [number, number, number]) =>
    tipAt(track, motion, share)?.forEach((value, axis) => expect(value).toBeCloseTo(expected[axis] ?? 0, 5));
  it("is where its motion has brought it", () => {
    close(2, 0.25, [2.5, 0, 0]);
    close(3, 1 / 6, [10, 1, 0]);
    close(3, 2 / 3, [10, 4, 0]);
    close(3, 1, [10, 6, 0]);
    close(6, 0.5, [50, 50, 35]);
  });
  it("stays where it was through a motion that does not show", () => {
    close(4, 0.5, [10, 6, 0]);
    close(99, 1, [50, 50, 20]);
  });
  it("is not known before it is over the part", () => {
    expect(tipAt(track, 1, 1)).toBeUndefined();
    expect(tipAt({ ...track, count: 0 }, 3, 1)).toBeUndefined();
  });
});
