import { describe, expect, it } from "vitest";

import { gaugeOf, linesOf, nextPiece, numberIn, placesOf, typedAhead, typedIn, writtenOf, wrongWith } from "../src/measure/values";
import type { LineSaid, ToMeasureSaid } from "../src/wire/api.gen";

const gauge = (key: string): ToMeasureSaid["instruments"][number] => ({ gauge: key, name: key, uncertainty: 0.01, good: null, said: "" });
const row = (feature: string, proposed: string, axis: "" | "x" | "y", kind: string): ToMeasureSaid => ({
  feature, kind, requirement: axis === "" ? feature : feature.slice(0, -2), axis, unit: "mm", nominal: 0, limits: [0, 1], zone: null,
  faces: [], shift: [0, 0, 0], gauge: proposed, said: "", zone_said: "", instruments: ["plug", "height"].map(gauge),
});
const line = (number: number, piece: string, feature: string, with_ = "plug"): LineSaid => ({ line: number, piece, feature, gauge: with_, said: "1 mm", when: null });

const PLAN = [row("bore", "plug", "", "inside"), row("seat x", "", "x", "position"), row("seat y", "", "y", "position"), row("angle", "", "", "angle")];

describe("the values of a piece", () => {
  it("takes numbers as people type them and nothing else", () => {
    expect(["12.5", "12,5", "−0.004", "+.5", " 7 "].map(numberIn)).toEqual(["12.5", "12.5", "-0.004", "+.5", "7"]);
    expect(["", "abc", "1.2.3", "--1", "12 mm", "1e3"].map(numberIn)).toEqual([undefined, undefined, undefined, undefined, undefined, undefined]);
  });

  it("proposes the gauge chosen for another of its kind", () => {
    const chosen = { "seat x": "height" };
    expect(PLAN.map((one) => gaugeOf(PLAN, one, chosen))).toEqual(["plug", "height", "height", ""]);
    expect(gaugeOf(PLAN, PLAN[0]!, { bore: "height" })).toBe("height");
  });

  it("says what stands in the way", () => {
    expect(wrongWith("", "")).toBe("");
    expect(wrongWith("abc", "plug")).toBe("number");
    expect(wrongWith("1.0", "")).toBe("gauge");
    expect(wrongWith("1.0", "plug")).toBe("");
  });

  it("keeps what is whole, in the order of the plan", () => {
    const typed = { piece: "3", values: { "seat x": "0,003", bore: "12.01", "seat y": "x", angle: "90" }, gauges: { "seat x": "height" } };
    expect(linesOf(PLAN, "first", typed, "3", "2026-03-03T09:05:00")).toEqual([
      { piece: "3", setup: "first", feature: "bore", value: "12.01", unit: "mm", gauge: "plug", time: "2026-03-03T09:05:00" },
      { piece: "3", setup: "first", feature: "seat x", value: "0.003", unit: "mm", gauge: "height", time: "2026-03-03T09:05:00" },
    ]);
  });

  it("knows the piece that comes next", () => {
    expect(nextPiece({ pieces: [], lines: [] })).toBe("1");
    expect(nextPiece({ pieces: ["1", "9"], lines: [line(2, "1", "bore"), line(3, "9", "bore")] })).toBe("10");
    expect(nextPiece({ pieces: ["1", "2"], lines: [line(2, "1", "bore"), line(3, "2", "length 2", "typed")] })).toBe("2");
    expect(nextPiece({ pieces: ["A"], lines: [line(2, "A", "bore")] })).toBe("");
  });

  it("tells what was typed for a piece that is still to be cut", () => {
    const lines = [line(2, "1", "bore"), line(3, "2", "length 2", "typed"), line(4, "1", "radius 2", "typed")];
    expect(typedAhead(lines).map((one) => one.line)).toEqual([3]);
    expect([...writtenOf(lines, "1").keys()]).toEqual(["bore"]);
  });

  it("puts both coordinates of a centre at one place", () => {
    expect(placesOf(PLAN).map((one) => [one.name, one.numbers])).toEqual([["bore", [1]], ["seat", [2, 3]], ["angle", [4]]]);
  });

  it("takes a draft up again, whatever was kept of it", () => {
    expect(typedIn("")).toEqual({ piece: "", values: {}, gauges: {} });
    expect(typedIn('{"values":{"bore":"1"}}')).toEqual({ piece: "", values: { bore: "1" }, gauges: {} });
  });
});
