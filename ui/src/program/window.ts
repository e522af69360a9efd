// Which lines of a long text are drawn: those in sight and a few around them.

export const ROW_PX = 28;
const AROUND = 12;

export interface Window {
  first: number;
  last: number;
}

/** The lines (from 1) to draw for a scroll place and a height in pixels. */
export function windowAt(scrollTop: number, height: number, count: number): Window {
  const first = Math.max(1, Math.floor(scrollTop / ROW_PX) + 1 - AROUND);
  const last = Math.min(count, Math.ceil((scrollTop + height) / ROW_PX) + AROUND);
  return { first: Math.min(first, Math.max(count, 1)), last };
}

/** Where to scroll so that a line is in sight, in the middle if it was out of it; the same place if it is in sight already. */
export function scrollFor(line: number, scrollTop: number, height: number): number {
  const top = (line - 1) * ROW_PX;
  if (top >= scrollTop && top + ROW_PX <= scrollTop + height) return scrollTop;
  return Math.max(0, top - (height - ROW_PX) / 2);
}

/** The line a key leads to; undefined if it is no key of this. */
export function lineFor(key: string, line: number, count: number, height: number): number | undefined {
  const page = Math.max(1, Math.floor(height / ROW_PX) - 1);
  const wanted: Record<string, number> = {
    ArrowDown: line + 1,
    ArrowUp: line - 1,
    PageDown: line + page,
    PageUp: line - page,
    Home: 1,
    End: count,
  };
  const found = wanted[key];
  return found === undefined ? undefined : Math.min(Math.max(found, 1), count);
}

/** The marked line next after (or before) a line, going round at the ends; undefined if there is none. */
export function nextMark(marks: Iterable<number>, line: number, step: 1 | -1): number | undefined {
  const sorted = [...marks].sort((a, b) => (a - b) * step);
  return sorted.find((one) => (one - line) * step > 0) ?? sorted[0];
}
