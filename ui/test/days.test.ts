import { describe, expect, it } from "vitest";

import { byDay } from "../src/data/days";
import { dayOf, timeOf } from "../src/units/units";

describe("days", () => {
  it("keeps what falls on a day together, in the order given", () => {
    const all = ["2026-03-04T12:30:00", "2026-03-04T12:10:00", "2026-03-02T12:00:00"].map((at) => ({ at }));
    const days = byDay(all);
    expect(days.map(([, inDay]) => inDay.length)).toEqual([2, 1]);
    expect(days[0]?.[0]).toBe(dayOf("2026-03-04T01:00:00"));
    expect(byDay([])).toEqual([]);
  });

  it("shows what is no moment as it is", () => {
    expect(dayOf("some day")).toBe("some day");
    expect(timeOf("some day")).toBe("");
  });
});
