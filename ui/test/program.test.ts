import { describe, expect, it } from "vitest";

import { byLine, counted, type Finding, told, worstFirst } from "../src/data/findings";
import { linesIn } from "../src/program/lines";
import { lineFor, nextMark, ROW_PX, scrollFor, windowAt } from "../src/program/window";

const bytes = (text: string): ArrayBuffer => new TextEncoder().encode(text).buffer;

describe("the lines of a program", () => {
  it("are counted as an editor counts them, whatever ends them", () => {
    for (const end of ["\n", "\r\n", "\r"]) {
      const lines = linesIn(bytes(`%${end}N1 G0${end}${end}M30${end}`));
      expect(lines.count).toBe(4);
      expect([1, 2, 3, 4].map(lines.text)).toEqual(["%", "N1 G0", "", "M30"]);
    }
    expect(linesIn(bytes("G1 X1")).count).toBe(1);
    expect(linesIn(bytes("")).count).toBe(1);
    expect(linesIn(bytes("A\n")).text(2)).toBe("");
  });
  it("are read as Latin where they are not Unicode", () => {
    expect(linesIn(Uint8Array.of(0x28, 0xe4, 0x29, 0x0a).buffer).text(1)).toBe("(ä)");
    expect(linesIn(bytes("(ä Ø)")).text(1)).toBe("(ä Ø)");
  });
});

describe("the window over a long program", () => {
  it("draws what is in sight and a little more", () => {
    const { first, last } = windowAt(1000 * ROW_PX, 10 * ROW_PX, 1_000_000);
    expect(first).toBeLessThanOrEqual(1001);
    expect(last).toBeGreaterThanOrEqual(1010);
    expect(last - first).toBeLessThan(60);
    expect(windowAt(0, 500, 3)).toEqual({ first: 1, last: 3 });
  });
  it("scrolls only when the line is out of sight, and then to the middle", () => {
    expect(scrollFor(5, 0, 10 * ROW_PX)).toBe(0);
    expect(scrollFor(101, 0, 11 * ROW_PX)).toBe(95 * ROW_PX);
    expect(scrollFor(1, 500, 300)).toBe(0);
  });
  it("knows where a key leads", () => {
    expect(lineFor("ArrowDown", 9, 9, 280)).toBe(9);
    expect(lineFor("PageUp", 5, 100, 280)).toBe(1);
    expect(lineFor("PageDown", 5, 100, 280)).toBe(14);
    expect(lineFor("End", 5, 100, 280)).toBe(100);
    expect(lineFor("a", 5, 100, 280)).toBeUndefined();
    expect(nextMark([40, 7, 12], 12, 1)).toBe(40);
    expect(nextMark([40, 7, 12], 40, 1)).toBe(7);
    expect(nextMark([40, 7, 12], 7, -1)).toBe(40);
    expect(nextMark([], 7, 1)).toBeUndefined();
  });
});

describe("findings", () => {
  const finding = (signal: Finding["signal"], line: number, state: Finding["state"] = "found"): Finding => ({
    slug: "x", signal, state, text: signal, remedy: "", file: "a.nc", line, column: 0, setup: "", tool: null, body: "", value: null, unit: "",
    motion: -1, excerpt: "",
  });
  const some = [finding("CAUTION", 3), finding("NOTICE", 3), finding("DANGER", 9), finding("DANGER", 0, "undecided"), finding("WARNING", 3)];
  it("are worst first, what is undecided behind what was found", () => {
    expect(worstFirst(some).map((one) => `${one.signal} ${one.state}`)).toEqual([
      "DANGER found", "DANGER undecided", "WARNING found", "CAUTION found", "NOTICE found",
    ]);
    expect(some[0]?.signal).toBe("CAUTION");
  });
  it("stand at their line, worst first; those without one stand at none", () => {
    const lines = byLine(some, "a.nc");
    expect([...lines.keys()].sort((a, b) => a - b)).toEqual([3, 9]);
    expect(lines.get(3)?.map((one) => one.signal)).toEqual(["WARNING", "CAUTION", "NOTICE"]);
    expect(byLine(some, "b.nc").size).toBe(0);
  });
  it("are told with the one they belong to: its other places, what follows from it, under the worst word of them all", () => {
    const with0 = (one: Finding, slug = "x"): Finding => ({ ...one, slug, told_with: 0 });
    const list = [finding("CAUTION", 3), with0(finding("CAUTION", 5)), with0(finding("DANGER", 9), "y"), finding("WARNING", 4)];
    const groups = told(list);
    expect(groups.map((one) => [one.signal, one.lead.line])).toEqual([["DANGER", 3], ["WARNING", 4]]);
    expect(groups[0]?.places.map((one) => one.line)).toEqual([5]);
    expect(groups[0]?.follows.map((one) => one.line)).toEqual([9]);
    expect(told([finding("NOTICE", 1)]).map((one) => one.lead.line)).toEqual([1]);
  });
  it("are counted by their word", () => {
    expect(counted(some)).toEqual([["DANGER", 2], ["WARNING", 1], ["CAUTION", 1], ["NOTICE", 1]]);
  });
});
