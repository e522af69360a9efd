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
