import { describe, expect, it } from "vitest";

import { type Course, greatest, lanesOf, lineOf, momentAt, momentOfLine, stepBlock, stepTool, tickStep, timeOf, toolsOf } from "../src/strip/course";
import { heightOf, LANES } from "../src/strip/draw";

/** Six motions: tool 1 on lines 10, 11, 11 (a cycle), a change of 4 s, tool 2 on lines 20, 21, then line 10 again (a loop). */
const course: Course = {
  files: ["a.nc"],
  rows: 6,
  timed: true,
  total: 14,
  clearanceWithin: 100,
  kind: Uint8Array.of(0, 1, 1, 0, 2, 1),
  tool: Int32Array.of(1, 1, 1, 2, 2, 2),
  file: Int16Array.of(0, 0, 0, 0, 0, 0),
  line: Int32Array.of(10, 11, 11, 20, 21, 10),
  begin: Float64Array.of(0, 1, 3, 8, 9, 12),
  end: Float64Array.of(1, 3, 4, 9, 12, 14),
  feed: Float32Array.of(NaN, 100, 300, NaN, 200, 50),
  rate: Float32Array.of(0, 5, 9, 0, 7, 1),
  clearance: Float32Array.of(50, 4, 2, 100, 8, 6),
  power: Float32Array.of(NaN, 1, 3, NaN, 2, NaN),
};

describe("moments of the strip", () => {
  it("finds the motion of a time, and the time of a moment", () => {
    expect(momentAt(course, 2)).toEqual({ motion: 1, share: 0.5 });
    expect(timeOf(course, { motion: 1, share: 0.5 })).toBe(2);
    expect(momentAt(course, 6)).toEqual({ motion: 2, share: 1 }); // while the tool is changed
    expect(momentAt(course, 99)).toEqual({ motion: 5, share: 1 });
    expect(momentAt(course, -1)).toEqual({ motion: -1, share: 1 });
    for (let at = 0; at <= 14; at += 0.25) if (at <= 4 || at >= 8) expect(timeOf(course, momentAt(course, at))).toBeCloseTo(at, 12);
  });
  it("steps whole blocks, a cycle being one", () => {
    const forward = [];
    for (let moment = { motion: -1, share: 1 }, step = 0; step < 5; step++) forward.push((moment = stepBlock(course, moment, 1)).motion);
    expect(forward).toEqual([0, 2, 3, 4, 5]);
    const back = [];
    for (let moment = { motion: 5, share: 1 }, step = 0; step < 6; step++) back.push((moment = stepBlock(course, moment, -1)).motion);
    expect(back).toEqual([4, 3, 2, 0, -1, -1]);
    expect(stepBlock(course, { motion: 1, share: 0.3 }, 1)).toEqual({ motion: 2, share: 1 });
    expect(stepBlock(course, { motion: 5, share: 1 }, 1)).toEqual({ motion: 5, share: 1 });
  });
  it("steps tools", () => {
    expect(stepTool(course, { motion: 0, share: 1 }, 1).motion).toBe(3);
    expect(stepTool(course, { motion: 4, share: 1 }, -1).motion).toBe(3);
    expect(stepTool(course, { motion: 3, share: 1 }, -1).motion).toBe(0);
    expect(stepTool(course, { motion: 4, share: 1 }, 1).motion).toBe(5);
    expect(toolsOf(course)).toEqual([1, 2]);
  });
  it("goes to a line: after its block the first time it runs, or before the next line that moves", () => {
    expect(momentOfLine(course, "a.nc", 11)).toEqual({ motion: 2, share: 1 });
    expect(momentOfLine(course, "a.nc", 10)).toEqual({ motion: 0, share: 1 });
    expect(momentOfLine(course, "a.nc", 15)).toEqual({ motion: 2, share: 1 });
    expect(momentOfLine(course, "a.nc", 22)).toBeUndefined();
    expect(momentOfLine(course, "b.nc", 10)).toBeUndefined();
    expect(lineOf(course, { motion: 4, share: 0.1 })).toEqual({ file: "a.nc", line: 21 });
    expect(lineOf(course, { motion: -1, share: 1 })).toEqual({ file: "a.nc", line: 10 });
  });
  it("does nothing wrong on a program that moves nothing", () => {
    const none = { ...course, rows: 0, total: 0 };
    expect(momentAt(none, 3)).toEqual({ motion: -1, share: 1 });
    expect(stepBlock(none, { motion: -1, share: 1 }, 1)).toEqual({ motion: -1, share: 1 });
    expect(lineOf(none, { motion: -1, share: 1 })).toBeUndefined();
    expect(toolsOf(none)).toEqual([]);
  });
});

describe("lanes of the strip", () => {
  it("shows on each pixel the greatest feed, rate and power and the least clearance that fall on it", () => {
    const lanes = lanesOf(course, 0, 14, 14);
    expect([...lanes.tool]).toEqual([1, 1, 1, 1, 0, 0, 0, 0, 2, 2, 2, 2, 2, 2]);
    expect([...lanes.rapid]).toEqual([1, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0]);
    expect([...lanes.feed]).toEqual([0, 100, 100, 300, 0, 0, 0, 0, 0, 200, 200, 200, 50, 50]);
    expect([...lanes.power]).toEqual([0, 1, 1, 3, 0, 0, 0, 0, 0, 2, 2, 2, 0, 0]);
    expect([...lanes.clearance]).toEqual([50, 4, 4, 2, Infinity, Infinity, Infinity, Infinity, 100, 8, 8, 8, 6, 6]);
  });
  it("loses nothing when many motions fall on one pixel", () => {
    const lanes = lanesOf(course, 0, 14, 2);
    expect([...lanes.clearance]).toEqual([2, 6]);
    expect([...lanes.rate]).toEqual([9, 7]);
    expect([...lanesOf(course, 0, 14, 1).clearance]).toEqual([2]);
  });
  it("draws a stretch only with what lies in it", () => {
    expect([...lanesOf(course, 4.5, 7.5, 3).tool]).toEqual([0, 0, 0]);
    expect([...lanesOf(course, 9, 12, 3).feed]).toEqual([200, 200, 200]);
  });
  it("has no lane for a power that nobody knows", () => {
    expect(greatest(course)).toEqual({ feed: 300, rate: 9, power: 3 });
    expect(heightOf(3) - heightOf(greatest({ ...course, power: new Float32Array(6).fill(NaN) }).power)).toBe(LANES.power);
  });
  it("has a scale with round steps", () => {
    expect(tickStep(213, 8)).toBe(30);
    expect(tickStep(9, 10)).toBe(1);
    expect(tickStep(4 * 3600, 6)).toBe(3600);
    expect(tickStep(1e6, 6)).toBeGreaterThanOrEqual(1e6 / 6);
  });
});
