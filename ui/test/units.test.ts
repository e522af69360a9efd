import { describe, expect, it } from "vitest";

import { decimals, duration, durationWithin, feed, length, lengthNumber, mm, mm3, mm3PerMin, mmPerMin, removalRate, seconds, volume } from "../src/units/units";

describe("numbers as they are shown", () => {
  it("never shows a minus before a rounded zero, and a true minus sign before what is less", () => {
    expect(decimals(-0.0004, 3)).toBe("0.000");
    expect(decimals(-0.0006, 3)).toBe("−0.001");
    expect(decimals(-12, 0)).toBe("−12");
  });
  it("shows a dash for what is no number", () => {
    for (const value of [null, undefined, Number.NaN, Infinity]) expect(decimals(value, 2)).toBe("–");
    expect(lengthNumber(null, "inch")).toBe("–");
    expect(duration(undefined)).toBe("–");
  });
  it("gives inches one place more than millimetres, so that the last digit is worth about as much", () => {
    expect(length(mm(25.4), "mm")).toBe("25.400 mm");
    expect(length(mm(25.4), "inch")).toBe("1.0000 in");
    expect(length(mm(-0.0127), "inch")).toBe("−0.0005 in");
    expect(length(mm(5), "mm", 1)).toBe("5.0 mm");
  });
  it("shows feeds, volumes and rates in the person's unit", () => {
    expect(feed(mmPerMin(1600), "mm")).toBe("1600 mm/min");
    expect(feed(mmPerMin(254), "inch")).toBe("10.0 in/min");
    expect(volume(mm3(16387.064), "inch")).toBe("1.00 in³");
    expect(volume(mm3(50566), "mm")).toBe("50.6 cm³");
    expect(removalRate(mm3PerMin(2 * 16387.064), "inch")).toBe("2.00 in³/min");
  });
  it("shows time as somebody says it", () => {
    expect(duration(seconds(0.44))).toBe("0.4 s");
    expect(duration(seconds(9.96))).toBe("10 s");
    expect(duration(seconds(59.6))).toBe("1 min 00 s");
    expect(duration(seconds(198))).toBe("3 min 18 s");
    expect(duration(seconds(3599.7))).toBe("1 h 00 min");
    expect(duration(seconds(7384))).toBe("2 h 03 min");
    expect(durationWithin(seconds(125.2), 3.1)).toBe("2 min 05 s ± 4 s");
    expect(durationWithin(seconds(7300), 130)).toBe("2 h 01 min ± 3 min");
    expect(durationWithin(seconds(125.2), null)).toBe("2 min 05 s");
  });
});
