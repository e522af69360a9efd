// Quantities as branded numbers: a length is never taken for a time. The only place that casts a bare number into one, and the only
// place that turns one into text. Everything is mm, s, mm/min, rpm inside, as it comes from the server; nothing is computed here but
// the change of unit for showing.

declare const brand: unique symbol;
type Quantity<Name extends string> = number & { readonly [brand]: Name };

export type Mm = Quantity<"mm">;
export type Seconds = Quantity<"s">;
export type MmPerMin = Quantity<"mm/min">;
export type Rpm = Quantity<"rpm">;
export type Mm3PerMin = Quantity<"mm3/min">;
export type Mm3 = Quantity<"mm3">;
export type Kilowatts = Quantity<"kW">;
export type Newtons = Quantity<"N">;
export type LengthUnit = "mm" | "inch";

export const mm = (value: number): Mm => value as Mm;
export const seconds = (value: number): Seconds => value as Seconds;
export const mmPerMin = (value: number): MmPerMin => value as MmPerMin;
export const rpm = (value: number): Rpm => value as Rpm;
export const mm3PerMin = (value: number): Mm3PerMin => value as Mm3PerMin;
export const mm3 = (value: number): Mm3 => value as Mm3;
export const kilowatts = (value: number): Kilowatts => value as Kilowatts;
export const newtons = (value: number): Newtons => value as Newtons;

export const MM_PER_INCH = 25.4;
const MINUS = "−";
const UNKNOWN = "–";

/** A number with a fixed count of decimals and a true minus sign; a dash for what is no number; never "−0". */
export function decimals(value: number | null | undefined, places: number): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return UNKNOWN;
  const text = Math.abs(value).toFixed(places);
  return value < 0 && Number(text) !== 0 ? MINUS + text : text;
}

/** A length in the person's unit, with the unit. `places` are those in mm; inches get one more. */
export function length(value: Mm | null | undefined, unit: LengthUnit, places = 3): string {
  return `${lengthNumber(value, unit, places)} ${unit === "inch" ? "in" : "mm"}`;
}

/** A length in the person's unit as a bare number. */
export function lengthNumber(value: Mm | null | undefined, unit: LengthUnit, places = 3): string {
  if (value === null || value === undefined) return UNKNOWN;
  return unit === "inch" ? decimals(value / MM_PER_INCH, places + 1) : decimals(value, places);
}

/** A feed in the person's unit, with the unit. */
export function feed(value: MmPerMin | null | undefined, unit: LengthUnit): string {
  if (value === null || value === undefined) return UNKNOWN;
  return unit === "inch" ? `${decimals(value / MM_PER_INCH, 1)} in/min` : `${decimals(value, 0)} mm/min`;
}

/** A spindle speed. */
export function speed(value: Rpm | null | undefined): string {
  return `${decimals(value, 0)} rpm`;
}

/** A volume per time, in the person's unit. */
export function removalRate(value: Mm3PerMin | null | undefined, unit: LengthUnit): string {
  if (value === null || value === undefined) return UNKNOWN;
  return unit === "inch" ? `${decimals(value / MM_PER_INCH ** 3, 2)} in³/min` : `${decimals(value / 1000, 1)} cm³/min`;
}

/** A volume in the person's unit. */
export function volume(value: Mm3 | null | undefined, unit: LengthUnit): string {
  if (value === null || value === undefined) return UNKNOWN;
  return unit === "inch" ? `${decimals(value / MM_PER_INCH ** 3, 2)} in³` : `${decimals(value / 1000, 1)} cm³`;
}

/** A power, with the unit. */
export function power(value: Kilowatts | null | undefined): string {
  return `${decimals(value, 1)} kW`;
}

/** A force to two digits that mean something, with the unit: what a model says of one holds no more. */
export function force(value: Newtons | null | undefined): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return UNKNOWN;
  return `${decimals(value === 0 ? 0 : Number(value.toPrecision(2)), 0)} N`;
}

/** A stretch of time: "45 s", "3 min 05 s", "1 h 02 min". */
export function duration(value: Seconds | null | undefined): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return UNKNOWN;
  if (value < 9.95) return `${value.toFixed(1)} s`;
  const whole = Math.round(value);
  if (whole < 60) return `${whole} s`;
  if (whole < 3600) return `${Math.floor(whole / 60)} min ${String(whole % 60).padStart(2, "0")} s`;
  return `${Math.floor(whole / 3600)} h ${String(Math.floor((whole % 3600) / 60)).padStart(2, "0")} min`;
}

/** A stretch of time with its ± in seconds, rounded up, in the unit of its last figure: "2 min 05 s ± 4 s". */
export function durationWithin(value: Seconds | null | undefined, withinS: number | null): string {
  const text = duration(value);
  if (value === null || value === undefined || withinS === null || text === UNKNOWN) return text;
  const inMinutes = Math.round(value) >= 3600;
  return `${text} ± ${Math.ceil(withinS / (inMinutes ? 60 : 1))} ${inMinutes ? "min" : "s"}`;
}

/** A moment as the person's own calendar writes it. */
export function moment(iso: string): string {
  const at = new Date(iso);
  return Number.isNaN(at.getTime()) ? iso : at.toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}

/** The day of a moment, written out: "Saturday 28 November 2026". */
export function dayOf(iso: string): string {
  const at = new Date(iso);
  if (Number.isNaN(at.getTime())) return iso;
  return at.toLocaleDateString(undefined, { weekday: "long", day: "numeric", month: "long", year: "numeric" });
}

/** The time of day of a moment. */
export function timeOf(iso: string): string {
  const at = new Date(iso);
  return Number.isNaN(at.getTime()) ? "" : at.toLocaleTimeString(undefined, { timeStyle: "short" });
}
