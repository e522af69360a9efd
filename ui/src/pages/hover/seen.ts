// What was seen at a check: how it is named on the page, and how it is said to the server.

import { decimals } from "../../units/units";
import type { CheckThere, DiagnosisSaid, Sight } from "../../wire/api.gen";
import { words } from "../../words";

const said = words.hover;
const NUMBER = /^[+-]?\d*[.,]?\d+$/;
/** The words of the server for a look that showed what the sheet says, and for one that did not. */
const AS_SHEET = "as the sheet says";
const DIFFERS = "differs";

type Named = Pick<CheckThere, "name" | "on">;

/** A check by its name, with its tool or offset where it is made for several: so it is ticked, too. */
export const checkTitle = (check: Named): string => (check.on === null || check.on === "" ? check.name : said.checkOn(check.name, String(check.on)));

/** What is looked at, its axis written as on the machine. */
export const sightName = (what: string): string => what.replace(/, ([xyz])$/, (_all, axis: string) => ` ${axis.toUpperCase()}`);

/** Whether a number is read there, and not only seen whether it is as on the sheet. */
export const isNumber = (sight: Sight): boolean => typeof sight.sheet === "number";

/** What the sheet says of it, with its unit and true minus signs. */
export function sheetSays(sight: Sight, unit: string): string {
  if (typeof sight.sheet === "number") return `${decimals(sight.sheet, unit === "in" ? 4 : 3)} ${unit}`;
  const text = sight.sheet ?? "";
  if (/^(offset|length|radius) register$/.test(sight.what)) return /\d/.test(text) ? `${minus(text)} ${unit}` : text;
  return sight.what === "display at hold point" ? text.replace(/: at .*$/, (place) => `${minus(place)} ${unit}`) : text;
}

const minus = (text: string): string => text.replace(/(^|\s)-(?=\d)/g, "$1−");

/** One thing that was seen; `value` is empty where it only differs, and null where it is as the sheet says. */
export interface Seen {
  slug: string;
  on: string;
  title: string;
  what: string;
  number: boolean;
  value: string | null;
}

/** The sentence of the server for it. Text that stands in a register is compared as it stands there, in mm only. */
export function sentence(seen: Seen, unit: string): string {
  const what = seen.what.includes(", ") ? seen.what.slice(seen.what.lastIndexOf(", ") + 2) : (seen.what.split(" ")[0] ?? "");
  return [seen.slug, seen.on, what, outcome(seen, unit)].filter((one) => one !== "").join(" ");
}

function outcome({ number, value }: Seen, unit: string): string {
  if (value === null) return AS_SHEET;
  const bare = value.trim().replaceAll("−", "-");
  if (number) return NUMBER.test(bare) ? `${bare.replace(",", ".")} ${unit}` : bare;
  return bare === "" || unit === "in" ? DIFFERS : bare;
}

/** It in the words of the check, for whoever looks at the list. */
export function inWords(seen: Seen, unit: string): string {
  const bare = seen.value?.trim() ?? "";
  const value = seen.value === null ? said.wasSo : bare === "" ? said.wasNot : NUMBER.test(bare) ? `${bare} ${unit}` : bare;
  return said.seenOne(seen.title, sightName(seen.what), value);
}

/** What was kept of a list; nothing if it is not one. */
export function keptSeen(text: string): Seen[] {
  try {
    const held: unknown = JSON.parse(text);
    return Array.isArray(held) ? held.filter((one: unknown): one is Seen => typeof one === "object" && one !== null && "slug" in one) : [];
  } catch {
    return [];
  }
}

/** One answer to what was seen; `ends` is how it ends, nothing where no slip is named. */
export interface Answer {
  probability: number;
  text: string;
  ends: string;
  remedy: string;
}

const MOST = 5;
const LEAST = 0.005;

/** The answers, the likeliest first, "no slip" and "something else" among them; those that hardly count are left out. */
export function answersOf(found: DiagnosisSaid): Answer[] {
  const named = found.ranked.slice(0, MOST).map((one) => ({ probability: one.probability, text: one.text, ends: said.outcome[one.outcome], remedy: one.remedy }));
  const others = [
    { probability: found.no_slip, text: said.noSlip, ends: "", remedy: "" },
    { probability: found.unlisted, text: said.unlisted, ends: "", remedy: said.unlistedHow },
  ];
  return [...named, ...others].filter((one) => one.probability >= LEAST).sort((a, b) => b.probability - a.probability);
}

/** What is to be said below the answers: what no check tells apart, what to look at next, and what tells the first two apart. */
export function furtherOf(found: DiagnosisSaid): string[] {
  const [first] = found.ranked;
  const lines: string[] = [];
  if (first !== undefined && first.cannot_tell_from.length > 0 && first.probability > Math.max(found.no_slip, found.unlisted)) {
    lines.push(said.cannotTell(first.cannot_tell_from.join("; ")));
  }
  const { next_check: next, tells_apart: apart } = found;
  if (found.settled) lines.push(said.settled);
  else if (next === null) lines.push(said.noneTells);
  if (next !== null) lines.push(said.nextCheck(next.do));
  if (apart !== null && apart.do !== next?.do) lines.push(said.tellsApart(apart.do));
  return lines;
}
