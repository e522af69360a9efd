import { dayOf } from "../units/units";

/** What happened, day by day in the order given: each day written out, with what falls on it. */
export function byDay<One extends { at: string }>(all: readonly One[]): ReadonlyArray<readonly [day: string, inDay: readonly One[]]> {
  const days = new Map<string, One[]>();
  for (const one of all) {
    const day = dayOf(one.at);
    const before = days.get(day);
    if (before === undefined) days.set(day, [one]);
    else before.push(one);
  }
  return [...days];
}
