// Findings as the server says them; ordering and grouping for showing, nothing judged here.

import type { FindingOfProof, FindingSaid } from "../wire/api.gen";

export type Finding = FindingSaid;
export type Signal = Finding["signal"];
/** A finding of a proof, with its name and what was said about it. */
export type NamedFinding = FindingOfProof;

const RANK: Readonly<Record<Signal, number>> = { DANGER: 0, WARNING: 1, CAUTION: 2, NOTICE: 3 };

/** Worst first; what is accepted, and what is undecided within the same word, after what is not; else as they came. */
export function worstFirst<One extends Finding>(findings: readonly One[]): One[] {
  const weight = (one: One): number => RANK[one.signal] * 2 + (one.state === "undecided" ? 1 : 0);
  return [...findings].sort((a, b) => weight(a) - weight(b));
}

/** A finding with those that are told with it: other places of the same, and what follows from it. `signal`: the worst word of them all. */
export interface Told<One extends Finding> {
  lead: One;
  signal: Signal;
  places: One[];
  follows: One[];
}

/** Findings as they are told, worst first; the whole list is needed, for each names the number of the one it is told with. */
export function told<One extends Finding>(findings: readonly One[]): Told<One>[] {
  const of = new Map<One, Told<One>>();
  const lead = (one: One): One => findings[one.told_with ?? -1] ?? one;
  for (const one of findings) {
    if (lead(one) === one) of.set(one, { lead: one, signal: one.signal, places: [], follows: [] });
  }
  for (const one of findings) {
    const group = of.get(lead(one));
    if (group === undefined || group.lead === one) continue;
    (one.slug === group.lead.slug ? group.places : group.follows).push(one);
    if (RANK[one.signal] < RANK[group.signal]) group.signal = one.signal;
  }
  return worstFirst([...of.values()].map((group) => ({ ...group.lead, signal: group.signal, group }))).map((one) => one.group);
}

/** The findings of each line of a file, worst first. */
export function byLine<One extends Finding>(findings: readonly One[], file: string): Map<number, One[]> {
  const found = new Map<number, One[]>();
  for (const one of worstFirst(findings)) {
    if (one.file !== file || one.line < 1) continue;
    const there = found.get(one.line);
    if (there === undefined) found.set(one.line, [one]);
    else there.push(one);
  }
  return found;
}

/** How many there are of each word, worst first; words that do not occur are left out. */
export function counted(findings: readonly Finding[]): ReadonlyArray<readonly [Signal, number]> {
  const words: readonly Signal[] = ["DANGER", "WARNING", "CAUTION", "NOTICE"];
  return words.map((word) => [word, findings.filter((one) => one.signal === word).length] as const).filter(([, count]) => count > 0);
}
