// The metal's surface as the server gives it, ordered for drawing: the triangles of one tool together, so that each tool's work is one
// material and a triangle that is touched still knows the motion that made it.

import type { Columns, Numbers } from "../data/columns";

export interface Surface {
  corners: Float32Array;
  triangles: Numbers;
  /** For each triangle the path row that cut it, -1 for the blank's own skin. */
  motion: Numbers;
  /** How far it may lie from the surface it stands for; 0 for the surface itself. */
  boundMm: number;
}

export interface Ordered {
  index: Uint32Array;
  motion: Int32Array;
  /** One run of the index for each kind: kind 0 is uncut, kind k the k-th tool. */
  runs: Array<{ kind: number; start: number; count: number }>;
}

export function surfaceIn(columns: Columns<{ bound_mm?: number }>): Surface {
  const corners = columns.numbers("corners");
  return {
    corners: corners instanceof Float32Array ? corners : Float32Array.from(corners),
    triangles: columns.numbers("triangles"),
    motion: columns.numbers("motion"),
    boundMm: columns.head.bound_mm ?? 0,
  };
}

/** Triangles in the order of their kinds; the order within a kind stays. `kindOf` gives 0 for -1. */
export function ordered(surface: Surface, kindOf: (motion: number) => number, kinds: number): Ordered {
  const count = surface.motion.length;
  const kind = new Uint16Array(count);
  const starts = new Uint32Array(kinds + 2);
  for (let one = 0; one < count; one++) {
    const of = Math.min(kindOf(surface.motion[one] ?? -1), kinds);
    kind[one] = of;
    starts[of + 1] = (starts[of + 1] ?? 0) + 1;
  }
  for (let of = 0; of <= kinds; of++) starts[of + 1] = (starts[of + 1] ?? 0) + (starts[of] ?? 0);
  const runs = Array.from({ length: kinds + 1 }, (_, of) => ({
    kind: of,
    start: 3 * (starts[of] ?? 0),
    count: 3 * ((starts[of + 1] ?? 0) - (starts[of] ?? 0)),
  })).filter((run) => run.count > 0);
  const index = new Uint32Array(3 * count);
  const motion = new Int32Array(count);
  const next = starts.slice();
  for (let one = 0; one < count; one++) {
    const of = kind[one] ?? 0;
    const at = next[of] ?? 0;
    next[of] = at + 1;
    motion[at] = surface.motion[one] ?? -1;
    for (let corner = 0; corner < 3; corner++) index[3 * at + corner] = surface.triangles[3 * one + corner] ?? 0;
  }
  return { index, motion, runs };
}
