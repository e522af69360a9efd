// The path of a program as points to draw: from the server's columns, arcs as chords. Only for drawing; what is measured comes from the
// stations.

import { type Columns, type Numbers } from "../data/columns";

export const RAPID = 0;
const ARC_STEP_RAD = (5 * Math.PI) / 180;
const MOST_ROWS = 50_000;

export interface PathHead {
  files: string[];
  frames: string[];
}

export interface Path {
  files: readonly string[];
  rows: number;
  kind: Numbers;
  line: Numbers;
  file: Numbers;
  tool: Numbers;
  /** Whether the row moves in work coordinates. */
  own: (row: number) => boolean;
  start: Numbers;
  end: Numbers;
  arc: Numbers;
  arcCentre: Numbers;
  arcAxis: Numbers;
  arcSweep: Numbers;
}

export function pathIn(columns: Columns<PathHead>): Path {
  const frame = columns.numbers("frame");
  const frames = columns.head.frames;
  return {
    files: columns.head.files,
    rows: columns.shape("kind")[0] ?? 0,
    kind: columns.numbers("kind"),
    line: columns.numbers("line"),
    file: columns.numbers("file"),
    tool: columns.numbers("tool"),
    own: (row) => frames[frame[row] ?? -1] !== "machine",
    start: columns.numbers("start"),
    end: columns.numbers("end"),
    arc: columns.numbers("arc"),
    arcCentre: columns.numbers("arc_centre"),
    arcAxis: columns.numbers("arc_axis"),
    arcSweep: columns.numbers("arc_sweep"),
  };
}

type Point = [x: number, y: number, z: number];

const at = (values: Numbers, row: number): Point => [values[3 * row] ?? 0, values[3 * row + 1] ?? 0, values[3 * row + 2] ?? 0];

/** A row as the points of its chords: two for a straight one, more for an arc; a helix climbs evenly. */
export function pointsOf(path: Path, row: number): Point[] {
  const number = path.arc[row] ?? -1;
  const start = at(path.start, row);
  const end = at(path.end, row);
  if (number < 0) return [start, end];
  const axis = path.arcAxis[number] ?? 2;
  const a = (axis + 1) % 3;
  const b = (axis + 2) % 3;
  const centre = at(path.arcCentre, number);
  const sweep = path.arcSweep[number] ?? 0;
  const steps = Math.max(1, Math.ceil(Math.abs(sweep) / ARC_STEP_RAD));
  const u = (start[a] ?? 0) - (centre[a] ?? 0);
  const v = (start[b] ?? 0) - (centre[b] ?? 0);
  const points: Point[] = [];
  for (let step = 0; step < steps; step++) {
    const angle = (sweep * step) / steps;
    const point: Point = [0, 0, 0];
    point[a] = (centre[a] ?? 0) + u * Math.cos(angle) - v * Math.sin(angle);
    point[b] = (centre[b] ?? 0) + u * Math.sin(angle) + v * Math.cos(angle);
    point[axis] = (start[axis] ?? 0) + (((end[axis] ?? 0) - (start[axis] ?? 0)) * step) / steps;
    points.push(point);
  }
  return [...points, end];
}

export interface Box {
  low: Point;
  high: Point;
}

/** The box around every cutting motion; around every motion if none cuts; undefined if nothing moves. */
export function boxOf(path: Path): Box | undefined {
  return boxWhere(path, (row) => path.kind[row] !== RAPID) ?? boxWhere(path, () => true);
}

function boxWhere(path: Path, wanted: (row: number) => boolean): Box | undefined {
  const low: Point = [Infinity, Infinity, Infinity];
  const high: Point = [-Infinity, -Infinity, -Infinity];
  for (let row = 0; row < path.rows; row++) {
    if (!path.own(row) || !wanted(row)) continue;
    const points = (path.arc[row] ?? -1) < 0 ? [at(path.start, row), at(path.end, row)] : pointsOf(path, row);
    for (const point of points) {
      for (const axis of [0, 1, 2] as const) {
        low[axis] = Math.min(low[axis], point[axis]);
        high[axis] = Math.max(high[axis], point[axis]);
      }
    }
  }
  return low[0] <= high[0] ? { low, high } : undefined;
}

/** Every how many rows one is drawn, so that a long program is still drawn at once. */
export function thinning(rows: number): number {
  return Math.max(1, Math.ceil(rows / MOST_ROWS));
}

/** The rows of a line of a file, as first and one past the last; several if the line runs again later. */
export function rowsOfLine(path: Path, file: string, line: number): number[] {
  const index = path.files.indexOf(file);
  const found: number[] = [];
  for (let row = 0; row < path.rows; row++) if (path.line[row] === line && path.file[row] === index) found.push(row);
  return found;
}
