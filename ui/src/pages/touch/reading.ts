// A reading as it is typed, and as it goes to the server: every length with its unit.

import type { LengthUnit } from "../../units/units";
import type { FaceDrawn, Planned, Usual } from "../../wire/api.gen";

export const LISTS = ["contact", "tool_length", "tool_diameter"] as const;
export type ReadingList = (typeof LISTS)[number];
/** How a tool's diameter was measured: shown as such, or from two sides of something of known width. */
export const MEASURED = ["shown", "sides"] as const;
export type Measured = (typeof MEASURED)[number];

export interface Typed {
  list: ReadingList;
  on: string;
  toward: string;
  with: string;
  /** The instrument stands under a tool's tip; which tool that was must be said. */
  under: boolean;
  tool: string;
  x: string;
  y: string;
  z: string;
  step: string;
  measured: Measured;
  shown: string;
  one: string;
  other: string;
  across: string;
  /** What the display was switched to. */
  unit: LengthUnit;
  /** The touch of the plan that stood first when this was begun. */
  asked: string;
  /** The axis that this touch must read as well; nothing for none. */
  also: string;
}

/** Nothing typed yet. */
export const nothingTyped = (unit: LengthUnit): Typed => ({
  list: "contact",
  on: "",
  toward: "",
  with: "",
  under: false,
  tool: "",
  x: "",
  y: "",
  z: "",
  step: unit === "inch" ? "0.001" : "0.01",
  measured: "shown",
  shown: "",
  one: "",
  other: "",
  across: "",
  unit,
  asked: "",
  also: "",
});

/** What tells one touch of the plan from the others. */
export const touchOf = (planned: Planned): string => planned.what;

/** The touch of the plan, ready for its digits; the last step of the handwheel stays as it was. */
export const begun = (typed: Typed, planned: Planned): Typed => ({
  ...nothingTyped(typed.unit),
  step: typed.step,
  on: planned.on,
  toward: planned.toward,
  with: planned.with,
  under: planned.tool !== null,
  tool: planned.tool === null ? "" : String(planned.tool),
  asked: touchOf(planned),
  also: planned.also,
});

const DIGITS = ["x", "y", "z", "shown", "one", "other", "across"] as const;

/** Whether any position was typed. */
export const hasDigits = (typed: Typed): boolean => DIGITS.some((field) => typed[field] !== "");

/** A face that was chosen, with the way the tip meets it where there is only one. */
export function onFace(typed: Typed, face: FaceDrawn | undefined, on: string, usual: Usual): Typed {
  const ways = face?.ways ?? [];
  const kept = ways.length === 0 || ways.includes(typed.toward) ? typed.toward : "";
  const sideways = typed.under && ways.length > 0 && !ways.includes("-Z");
  const fitting = sideways ? { ...typed, with: usual.finder, under: false, tool: "" } : typed;
  return moving({ ...fitting, on, also: "" }, ways.length === 1 ? (ways[0] ?? "") : kept, usual);
}

/** A way that was chosen, with the instrument that goes that way: a finder sideways, an indicator round a bore, paper or a setter under a tool. */
export function moving(typed: Typed, toward: string, usual: Usual): Typed {
  const one = { ...typed, toward };
  if (toward === "") return one;
  const wanted = toward === "-Z" ? usual.under : toward === "sweep" ? usual.sweeps : usual.finder;
  const unsuited = typed.with === "" || (typed.with !== wanted && Object.values(usual).includes(typed.with)) || (typed.under && toward !== "-Z");
  if (!unsuited) return one;
  return toward === "-Z" ? { ...one, with: wanted, under: true } : { ...one, with: wanted, under: false, tool: "" };
}

/** Instruments that do not sit in the spindle: a tool comes down on them. */
export const UNDER_A_TOOL: ReadonlySet<string> = new Set(["height setter", "gauge block", "roller", "feeler", "paper", "tool setter", "tool tip"]);

const WAYS = ["+X", "-X", "+Y", "-Y", "-Z", "sweep"] as const;

/** The ways a tip can meet a face; all while none is chosen. */
export const waysOf = (face: FaceDrawn | undefined): readonly string[] => WAYS.filter((way) => face === undefined || face.ways.includes(way));

/** The axes that must be read, and those that may be. */
export function axesOf(typed: Typed): { needed: readonly Axis[]; useful: readonly Axis[] } {
  if (typed.list === "tool_length") return { needed: ["z"], useful: [] };
  if (typed.list === "tool_diameter") return { needed: [], useful: [] };
  if (typed.toward === "sweep") return { needed: ["x", "y"], useful: ["z"] };
  const own = typed.toward.at(-1)?.toLowerCase() as Axis | undefined;
  if (own === undefined) return { needed: [], useful: ["x", "y", "z"] };
  const needed = (["x", "y", "z"] as const).filter((axis) => axis === own || axis === typed.also.toLowerCase());
  return { needed, useful: (["x", "y", "z"] as const).filter((axis) => !needed.includes(axis)) };
}

export type Axis = "x" | "y" | "z";
export type Field = Axis | "step" | "shown" | "one" | "other" | "across";

/** The fields of a reading in their order, and whether each must be read. */
export function fieldsOf(typed: Typed): Array<{ field: Field; must: boolean }> {
  if (typed.list === "tool_diameter") {
    const must = typed.measured === "shown" ? (["shown"] as const) : (["one", "other", "across"] as const);
    return [...must.map((field) => ({ field, must: true })), ...(typed.measured === "sides" ? [{ field: "step" as const, must: false }] : [])];
  }
  const { needed, useful } = axesOf(typed);
  const axes = [...needed, ...useful].sort();
  return [...axes.map((field) => ({ field, must: needed.includes(field) })), { field: "step", must: false }];
}

/** The same choices with every digit taken out: the next reading. */
export const nextOf = (typed: Typed): Typed => ({ ...typed, also: "", x: "", y: "", z: "", shown: "", one: "", other: "", across: "" });
const NUMBER = /^[+−-]?(\d+([.,]\d*)?|[.,]\d+)$/;

/** Whether a text is a number as somebody writes one at a machine. */
export const isNumber = (text: string): boolean => NUMBER.test(text.trim());

const withUnit = (text: string, unit: LengthUnit): string =>
  `${text.trim().replaceAll("−", "-").replaceAll(",", ".").replace(/^\+/, "")} ${unit === "inch" ? "in" : "mm"}`;

/** The reading with the keys of readings.toml; undefined while something needed is missing. */
export function readingOf(typed: Typed, setup: string, when?: string): Record<string, unknown> | undefined {
  const { unit } = typed;
  const missing = typed.with === "" || (typed.list === "contact" ? typed.on === "" || typed.toward === "" : typed.tool === "") || (typed.under && typed.tool === "");
  if (missing || fieldsOf(typed).some(({ field, must }) => must && !isNumber(typed[field]))) return undefined;
  const at = when === undefined ? {} : { when };
  const step = isNumber(typed.step) ? { last_step: withUnit(typed.step, unit) } : {};
  if (typed.list === "tool_diameter") {
    const measured = { setup, tool: Number(typed.tool), with: typed.with };
    if (typed.measured === "shown") return { ...measured, shown: withUnit(typed.shown, unit), ...at };
    return { ...measured, sides: [withUnit(typed.one, unit), withUnit(typed.other, unit)], across: withUnit(typed.across, unit), ...step, ...at };
  }
  const display: Record<string, string> = {};
  for (const axis of ["x", "y", "z"] as const) if (isNumber(typed[axis])) display[axis] = withUnit(typed[axis], unit);
  const common = { with: typed.with, display, ...step };
  if (typed.list === "tool_length") return { setup, tool: Number(typed.tool), on: typed.on === "" ? "tool setter" : typed.on, ...common, ...at };
  return { setup, on: typed.on, toward: typed.toward, ...(typed.tool === "" ? {} : { tool: Number(typed.tool) }), ...common, ...at };
}

const TYPED = ["setup", "on", "toward", "with", "tool", "display", "last_step", "units", "when", "shown", "sides", "across"];

/** What a reading of the record says besides what is typed here (who made it, at what speed, a note): it stays when it is changed. */
export const besides = (reading: Record<string, unknown>): Record<string, unknown> =>
  Object.fromEntries(Object.entries(reading).filter(([key]) => !TYPED.includes(key)));

/** The unit of bare numbers in a readings.toml. */
export function unitOf(text: string): LengthUnit {
  return /^\s*units\s*=\s*"in(ch)?"/m.test(text) ? "inch" : "mm";
}

/** A reading of the record as somebody would have typed it; `bare`: the unit of its bare numbers. */
export function typedFrom(list: ReadingList, reading: Record<string, unknown>, bare: LengthUnit): Typed {
  const display = (reading["display"] ?? {}) as Record<string, unknown>;
  const sides = Array.isArray(reading["sides"]) ? (reading["sides"] as unknown[]) : [];
  const written = [...Object.values(display), reading["shown"], ...sides].find((value) => typeof value === "string");
  const own = reading["units"] === "in" ? "inch" : reading["units"] === "mm" ? "mm" : bare;
  const unit: LengthUnit = written === undefined ? own : /in\s*$/.test(String(written)) ? "inch" : "mm";
  const text = (value: unknown): string => (value === undefined || value === null ? "" : String(value).replace(/\s*(mm|in)\s*$/, ""));
  return {
    list,
    on: text(reading["on"]),
    toward: text(reading["toward"]),
    with: text(reading["with"]),
    under: list === "contact" && text(reading["tool"]) !== "",
    tool: text(reading["tool"]),
    x: text(display["x"]),
    y: text(display["y"]),
    z: text(display["z"]),
    step: text(reading["last_step"]),
    measured: sides.length > 0 ? "sides" : "shown",
    shown: text(reading["shown"]),
    one: text(sides[0]),
    other: text(sides[1]),
    across: text(reading["across"]),
    unit,
    asked: "",
    also: "",
  };
}

/** What a press of the number pad makes of a text. */
export function pressed(text: string, key: string): string {
  if (key === "back") return text.slice(0, -1);
  if (key === "clear") return "";
  if (key === "sign") return text.startsWith("-") ? text.slice(1) : `-${text}`;
  if (key === "." && text.includes(".")) return text;
  return text + key;
}
