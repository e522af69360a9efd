// What went on from motion to motion, as the server gives it, and how it is laid out over the width of the strip. The strip goes by
// time; where the machine's time is not known it goes by motions.

import type { Columns, Numbers } from "../data/columns";
import { firstAtLeast } from "../bench/track";
import { type Seconds, seconds } from "../units/units";

export interface CourseHead {
  files: string[];
  total_s: number | null;
  clearance_within_mm: number;
}

export interface Course {
  files: readonly string[];
  rows: number;
  timed: boolean;
  /** The whole length: seconds, or motions where time is not known. */
  total: number;
  clearanceWithin: number;
  kind: Numbers;
  tool: Numbers;
  file: Numbers;
  line: Numbers;
  begin: Numbers;
  end: Numbers;
  feed: Numbers;
  rate: Numbers;
  clearance: Numbers;
  /** Likely, in kW; NaN where it is not known. */
  power: Numbers;
}

export function courseIn(columns: Columns<CourseHead>): Course {
  const { head } = columns;
  const rows = columns.shape("kind")[0] ?? 0;
  const timed = head.total_s !== null && head.total_s > 0;
  const counted = Float64Array.from({ length: timed ? 0 : rows }, (_, row) => row);
  return {
    files: head.files,
    rows,
    timed,
    total: timed ? (head.total_s ?? 0) : rows,
    clearanceWithin: head.clearance_within_mm,
    kind: columns.numbers("kind"),
    tool: columns.numbers("tool"),
    file: columns.numbers("file"),
    line: columns.numbers("line"),
    begin: timed ? columns.numbers("begin_s") : counted,
    end: timed ? columns.numbers("end_s") : counted.map((row) => row + 1),
    feed: columns.numbers("feed_mm_min"),
    rate: columns.numbers("rate_mm3_min"),
    clearance: columns.numbers("clearance_mm"),
    power: columns.numbers("power_kw"),
  };
}

/** A moment: `share` of motion `motion` has run; before the first motion with motion -1. */
export interface Moment {
  motion: number;
  share: number;
}

/** The moment at a time of the strip. A pause between motions belongs to the motion before it. */
export function momentAt(course: Course, at: number): Moment {
  if (course.rows === 0 || at < 0) return { motion: -1, share: 1 };
  const row = Math.min(firstAtLeast(course.end, at, course.rows), course.rows - 1);
  const begin = course.begin[row] ?? 0;
  const end = course.end[row] ?? 0;
  if (at < begin) return { motion: row - 1, share: 1 };
  return { motion: row, share: end > begin ? Math.min((at - begin) / (end - begin), 1) : 1 };
}

/** The place of a moment on the strip. */
export function timeOf(course: Course, moment: Moment): number {
  if (moment.motion < 0 || course.rows === 0) return 0;
  const row = Math.min(moment.motion, course.rows - 1);
  const begin = course.begin[row] ?? 0;
  return begin + moment.share * ((course.end[row] ?? 0) - begin);
}

/** The last motion of the block that a motion belongs to: the motions in a row that come from one line. */
export function blockEnd(course: Course, motion: number): number {
  let row = Math.max(motion, 0);
  while (row + 1 < course.rows && course.line[row + 1] === course.line[row] && course.file[row + 1] === course.file[row]) row++;
  return Math.min(row, course.rows - 1);
}

/** The moment one block further on or back; whole blocks only. */
export function stepBlock(course: Course, moment: Moment, step: 1 | -1): Moment {
  if (course.rows === 0) return { motion: -1, share: 1 };
  if (step === 1) {
    const end = moment.motion < 0 ? -1 : blockEnd(course, moment.motion);
    const unfinished = moment.motion >= 0 && (moment.motion < end || moment.share < 1);
    return { motion: unfinished ? end : blockEnd(course, Math.min(end + 1, course.rows - 1)), share: 1 };
  }
  let row = Math.min(moment.motion, course.rows - 1);
  while (row > 0 && course.line[row - 1] === course.line[row] && course.file[row - 1] === course.file[row]) row--;
  return { motion: Math.max(row - 1, -1), share: 1 };
}

/** The moment at which the next (or this, or the one before) tool begins. */
export function stepTool(course: Course, moment: Moment, step: 1 | -1): Moment {
  const now = Math.max(moment.motion, 0);
  if (step === 1) {
    let row = now;
    while (row < course.rows && course.tool[row] === course.tool[now]) row++;
    return row >= course.rows ? { motion: course.rows - 1, share: 1 } : { motion: row, share: 1 };
  }
  let row = Math.max(moment.motion - 1, 0);
  while (row > 0 && course.tool[row - 1] === course.tool[row]) row--;
  return { motion: row, share: 1 };
}

/**
 * The moment of a line of a file: once its block has run, the first time it runs; for a line that moves nothing, just before the next
 * one of its file that does. Undefined if no line from there on moves.
 */
export function momentOfLine(course: Course, file: string, line: number): Moment | undefined {
  const index = course.files.indexOf(file);
  let best = -1;
  for (let row = 0; row < course.rows; row++) {
    if (course.file[row] !== index) continue;
    const here = course.line[row] ?? 0;
    if (here === line) return { motion: blockEnd(course, row), share: 1 };
    if (here > line && (best < 0 || here < (course.line[best] ?? 0))) best = row;
  }
  return best < 0 ? undefined : { motion: best - 1, share: 1 };
}

/** File and line of a moment; before the first motion those of the first. */
export function lineOf(course: Course, moment: Moment): { file: string; line: number } | undefined {
  const row = Math.max(moment.motion, 0);
  if (row >= course.rows) return undefined;
  return { file: course.files[course.file[row] ?? 0] ?? "", line: course.line[row] ?? 1 };
}

/** What is drawn for each pixel of the strip's width. */
export interface Lanes {
  /** The tool at work; 0 where nothing moves. */
  tool: Int32Array;
  feed: Float32Array;
  rapid: Uint8Array;
  rate: Float32Array;
  clearance: Float32Array;
  power: Float32Array;
}

/** The lanes between two times over so many pixels: the greatest feed, rate and power and the least clearance that fall on each. */
export function lanesOf(course: Course, from: number, to: number, width: number): Lanes {
  const lanes: Lanes = {
    tool: new Int32Array(width),
    feed: new Float32Array(width),
    rapid: new Uint8Array(width),
    rate: new Float32Array(width),
    clearance: new Float32Array(width).fill(Infinity),
    power: new Float32Array(width),
  };
  const per = width / Math.max(to - from, Number.MIN_VALUE);
  for (let row = firstAtLeast(course.end, from, course.rows); row < course.rows; row++) {
    const begin = course.begin[row] ?? 0;
    if (begin > to) break;
    const first = Math.max(0, Math.min(width - 1, Math.floor((begin - from) * per)));
    const last = Math.max(first, Math.min(width - 1, Math.ceil(((course.end[row] ?? 0) - from) * per) - 1));
    const rapid = course.kind[row] === 0;
    const feed = course.feed[row] ?? 0;
    for (let pixel = first; pixel <= last; pixel++) {
      lanes.tool[pixel] = course.tool[row] ?? 0;
      if (rapid) lanes.rapid[pixel] = 1;
      else if (feed > (lanes.feed[pixel] ?? 0)) lanes.feed[pixel] = feed;
      lanes.rate[pixel] = Math.max(lanes.rate[pixel] ?? 0, course.rate[row] ?? 0);
      lanes.power[pixel] = Math.max(lanes.power[pixel] ?? 0, known(course.power[row]));
      lanes.clearance[pixel] = Math.min(lanes.clearance[pixel] ?? Infinity, course.clearance[row] ?? Infinity);
    }
  }
  return lanes;
}

/** A figure that may not be known, as one that adds nothing where it is not. */
export const known = (value: number | undefined): number => (value === undefined || Number.isNaN(value) ? 0 : value);

/** The greatest feed, rate and power of the whole, for the scale of the lanes; power 0 where none is known. */
export function greatest(course: Course): { feed: number; rate: number; power: number } {
  let feed = 0;
  let rate = 0;
  let power = 0;
  for (let row = 0; row < course.rows; row++) {
    const here = course.feed[row] ?? 0;
    if (course.kind[row] !== 0 && here > feed) feed = here;
    rate = Math.max(rate, course.rate[row] ?? 0);
    power = Math.max(power, known(course.power[row]));
  }
  return { feed, rate, power };
}

const toolsHeld = new WeakMap<Course, number[]>();

/** The tools in the order of their first use. */
export function toolsOf(course: Course): number[] {
  const held = toolsHeld.get(course);
  if (held !== undefined) return held;
  const found = new Set<number>();
  for (let row = 0; row < course.rows; row++) found.add(course.tool[row] ?? 0);
  found.delete(0);
  const tools = [...found];
  toolsHeld.set(course, tools);
  return tools;
}

/** Round steps for a scale of time: 1, 2, 5, 10, 15, 30 s, 1, 2, 5, 10 … min. */
export function tickStep(span: number, most: number): Seconds {
  const steps = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 18_000, 36_000];
  return seconds(steps.find((step) => span / step <= most) ?? Math.ceil(span / most / 36_000) * 36_000);
}
