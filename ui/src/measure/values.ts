// The values of a piece while they are typed: what is a number, which gauge goes with it, which piece it is, and the lines it becomes.

import type { LineSaid, MeasuredLine, PieceOfSetup, ToMeasureSaid } from "../wire/api.gen";

/** What Piece and Run share of a setup: what there is to measure, and what was measured. */
export type SetupMeasured = Omit<PieceOfSetup, "told">;

/** What a person has typed of a piece and chosen, by feature; kept in the browser until the server has it. */
export interface Typed {
  piece: string;
  values: Record<string, string>;
  gauges: Record<string, string>;
}

/** The draft as it was kept; nothing typed where there is none. */
export function typedIn(text: string): Typed {
  const kept = text === "" ? {} : (JSON.parse(text) as Partial<Typed>);
  return { piece: kept.piece ?? "", values: kept.values ?? {}, gauges: kept.gauges ?? {} };
}

/** A number as people type it, with a true minus, a comma or a blank where they put one; undefined for anything else. */
export function numberIn(text: string): string | undefined {
  const plain = text.replaceAll("−", "-").replace(/\s/g, "").replace(",", ".");
  return /^[+-]?(\d+(\.\d*)?|\.\d+)$/.test(plain) ? plain : undefined;
}

const TYPED = "typed";

/** The values of a piece that are written already, by feature: the last one where there are several. */
export function writtenOf(lines: readonly LineSaid[], piece: string): ReadonlyMap<string, LineSaid> {
  return new Map(lines.filter((one) => one.piece === piece && one.gauge !== TYPED).map((one) => [one.feature, one]));
}

/** What was typed into registers for pieces of which nothing was measured yet. */
export function typedAhead(lines: readonly LineSaid[]): readonly LineSaid[] {
  return lines.filter((one) => one.gauge === TYPED && writtenOf(lines, one.piece).size === 0);
}

/** The piece after the last one that was measured; "" where pieces have names, since nobody can know the next one. */
export function nextPiece({ pieces, lines }: Pick<SetupMeasured, "pieces" | "lines">): string {
  const measured = pieces.filter((one) => writtenOf(lines, one).size > 0);
  const ahead = pieces.find((one) => !measured.includes(one));
  if (ahead !== undefined) return ahead;
  if (measured.length === 0) return "1";
  return measured.every((one) => /^\d+$/.test(one)) ? String(Math.max(...measured.map(Number)) + 1) : "";
}

/** The gauge of a row: as chosen, as proposed, else the one chosen last for a row of its kind. */
export function gaugeOf(plan: readonly ToMeasureSaid[], row: ToMeasureSaid, gauges: Typed["gauges"]): string {
  const own = gauges[row.feature] || row.gauge;
  if (own !== "") return own;
  const alike = plan.filter((one) => one.kind === row.kind).map((one) => gauges[one.feature] ?? "");
  return alike.filter((one) => one !== "").at(-1) ?? "";
}

/** What stands in the way of keeping a row: its text is no number, or it has no gauge; "" for nothing. */
export function wrongWith(text: string, gauge: string): "" | "number" | "gauge" {
  if (text.trim() === "") return "";
  return numberIn(text) === undefined ? "number" : gauge === "" ? "gauge" : "";
}

/** The lines to keep, in the order of the plan; `when`: the moment they carry. */
export function linesOf(plan: readonly ToMeasureSaid[], setup: string, typed: Typed, piece: string, when: string): MeasuredLine[] {
  return plan.flatMap((row) => {
    const value = numberIn(typed.values[row.feature] ?? "");
    const gauge = gaugeOf(plan, row, typed.gauges);
    return value === undefined || gauge === "" ? [] : [{ piece, setup, feature: row.feature, value, unit: row.unit, gauge, time: when }];
  });
}

/** What is measured at one place of the part: a size, or both coordinates of a centre; `numbers`: those of its rows, from 1. */
export interface Measurable {
  key: string;
  name: string;
  numbers: readonly number[];
  rows: readonly ToMeasureSaid[];
}

/** The rows of a plan by the place they belong to, in their order. */
export function placesOf(plan: readonly ToMeasureSaid[]): Measurable[] {
  const found = new Map<string, Measurable>();
  for (const [index, row] of plan.entries()) {
    const name = row.axis === "" ? row.feature : row.feature.slice(0, -2);
    const held = found.get(name) ?? { key: name, name, numbers: [], rows: [] };
    found.set(name, { ...held, numbers: [...held.numbers, index + 1], rows: [...held.rows, row] });
  }
  return [...found.values()];
}
