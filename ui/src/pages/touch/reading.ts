// A reading as it is typed, and as it goes to the server: every length with its unit.

import type { LengthUnit } from "../../units/units";

export type ReadingList = "contact" | "tool_length";

export interface Typed {
  list: ReadingList;
  on: string;
  toward: string;
  with: string;
  tool: string;
  x: string;
  y: string;
  z: string;
  step: string;
  /** What the display was switched to. */
  unit: LengthUnit;
}

/** Nothing typed yet. */
export const nothingTyped = (unit: LengthUnit): Typed => ({
  list: "contact",
  on: "",
  toward: "",
  with: "",
  tool: "",
  x: "",
  y: "",
  z: "",
  step: unit === "inch" ? "0.001" : "0.01",
  unit,
});
export const WAYS = ["+X", "-X", "+Y", "-Y", "-Z", "sweep"] as const;

/** The axes that must be read, and those that may be. */
export function axesOf(typed: Typed): { needed: readonly Axis[]; useful: readonly Axis[] } {
  if (typed.list === "tool_length") return { needed: ["z"], useful: [] };
  if (typed.toward === "sweep") return { needed: ["x", "y"], useful: ["z"] };
  const own = typed.toward.at(-1)?.toLowerCase() as Axis | undefined;
  if (own === undefined) return { needed: [], useful: ["x", "y", "z"] };
  return { needed: [own], useful: (["x", "y", "z"] as const).filter((axis) => axis !== own) };
}

export type Axis = "x" | "y" | "z";
const NUMBER = /^[+−-]?(\d+([.,]\d*)?|[.,]\d+)$/;

/** Whether a text is a number as somebody writes one at a machine. */
export const isNumber = (text: string): boolean => NUMBER.test(text.trim());

const withUnit = (text: string, unit: LengthUnit): string =>
  `${text.trim().replaceAll("−", "-").replaceAll(",", ".").replace(/^\+/, "")} ${unit === "inch" ? "in" : "mm"}`;

/** The reading with the keys of readings.toml; undefined while something needed is missing. */
export function readingOf(typed: Typed, setup: string, when?: string): Record<string, unknown> | undefined {
  const { unit } = typed;
  const { needed } = axesOf(typed);
  const missing = typed.with === "" || (typed.list === "contact" ? typed.on === "" || typed.toward === "" : typed.tool === "");
  if (missing || needed.some((axis) => !isNumber(typed[axis]))) return undefined;
  const display: Record<string, string> = {};
  for (const axis of ["x", "y", "z"] as const) if (isNumber(typed[axis])) display[axis] = withUnit(typed[axis], unit);
  const common = { with: typed.with, display, ...(isNumber(typed.step) ? { last_step: withUnit(typed.step, unit) } : {}) };
  const at = when === undefined ? {} : { when };
  if (typed.list === "tool_length") return { setup, tool: Number(typed.tool), on: typed.on === "" ? "tool setter" : typed.on, ...common, ...at };
  return { setup, on: typed.on, toward: typed.toward, ...(typed.tool === "" ? {} : { tool: Number(typed.tool) }), ...common, ...at };
}

/** The unit of bare numbers in a readings.toml. */
export function unitOf(text: string): LengthUnit {
  return /^\s*units\s*=\s*"in(ch)?"/m.test(text) ? "inch" : "mm";
}

/** A reading of the record as somebody would have typed it; `bare`: the unit of its bare numbers. */
export function typedFrom(list: ReadingList, reading: Record<string, unknown>, bare: LengthUnit): Typed {
  const display = (reading["display"] ?? {}) as Record<string, unknown>;
  const written = Object.values(display).find((value) => typeof value === "string");
  const own = reading["units"] === "in" ? "inch" : reading["units"] === "mm" ? "mm" : bare;
  const unit: LengthUnit = written === undefined ? own : /in\s*$/.test(String(written)) ? "inch" : "mm";
  const text = (value: unknown): string => (value === undefined || value === null ? "" : String(value).replace(/\s*(mm|in)\s*$/, ""));
  return {
    list,
    on: text(reading["on"]),
    toward: text(reading["toward"]),
    with: text(reading["with"]),
    tool: text(reading["tool"]),
    x: text(display["x"]),
    y: text(display["y"]),
    z: text(display["z"]),
    step: text(reading["last_step"]),
    unit,
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
