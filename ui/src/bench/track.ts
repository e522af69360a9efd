// Where the tip is at any share of any motion, from the server's polyline.

import type { Columns, Numbers } from "../data/columns";

export interface Track {
  point: Numbers;
  motion: Numbers;
  share: Numbers;
  joined: Numbers;
  count: number;
}

export type Point = readonly [x: number, y: number, z: number];

export function trackIn(columns: Columns<object>): Track {
  return {
    point: columns.numbers("point"),
    motion: columns.numbers("motion"),
    share: columns.numbers("share"),
    joined: columns.numbers("joined"),
    count: columns.shape("point")[0] ?? 0,
  };
}

/** The first place in a sorted column whose value is at least `value`. */
export function firstAtLeast(values: Numbers, value: number, count = values.length): number {
  let low = 0;
  let high = count;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((values[middle] ?? 0) < value) low = middle + 1;
    else high = middle;
  }
  return low;
}

const pointAt = (track: Track, at: number): Point => [
  track.point[3 * at] ?? 0,
  track.point[3 * at + 1] ?? 0,
  track.point[3 * at + 2] ?? 0,
];

/**
 * The tip once `share` of motion `motion` has run; undefined where the tip's way is not known (before the first motion over the part).
 * A motion that does not show in the track (one of no length, or in machine coordinates) leaves the tip where it was.
 */
export function tipAt(track: Track, motion: number, share: number): Point | undefined {
  const first = firstAtLeast(track.motion, motion, track.count);
  const past = firstAtLeast(track.motion, motion + 1, track.count);
  if (first === past) return first === 0 ? undefined : pointAt(track, first - 1);
  let at = first;
  while (at < past - 1 && (track.share[at] ?? 1) < share) at++;
  const before = at - 1;
  const behind = at > first ? (track.share[before] ?? 0) : 0;
  const reached = track.share[at] ?? 1;
  if (before < 0 || !track.joined[at] || reached <= behind || share >= reached) return pointAt(track, at);
  const part = Math.max(0, (share - behind) / (reached - behind));
  const from = pointAt(track, before);
  const to = pointAt(track, at);
  return [from[0] + part * (to[0] - from[0]), from[1] + part * (to[1] - from[1]), from[2] + part * (to[2] - from[2])];
}
