import { describe, expect, it } from "vitest";

import { bare, compare } from "../src/pages/touch/compare";
import { axesOf, begun, besides, fieldsOf, hasDigits, isNumber, moving, nextOf, nothingTyped, onFace, pressed, readingOf, typedFrom, unitOf, waysOf } from "../src/pages/touch/reading";
import type { FaceDrawn } from "../src/wire/api.gen";
import { valuesIn, withValue } from "../src/data/lines";

describe("a number read back", () => {
  it.each([
    ["-304.863", "-304.863", "same"],
    ["-304.863", " −0304,8630 ", "same"],
    ["25.000", "+25.000", "same"],
    ["86.464", "86.46", "more"],
    ["86.464", "", "empty"],
    ["86.464", "-", "empty"],
  ])("%s against %s is %s", (wanted, shown, state) => {
    expect(compare(wanted, shown).state).toBe(state);
  });

  it.each([
    ["-304.863", "304.863", 1],
    ["-304.863", "-304.836", 5],
    ["-304.863", "-314.863", 2],
    ["-304.863", "-304.8631", 7],
    ["7.995", "79.95", 2],
  ])("%s against %s differs at digit %i", (wanted, shown, digit) => {
    expect(compare(wanted, shown)).toEqual({ state: "differs", digit });
  });

  it("keeps a nought that stands alone", () => {
    expect(bare("-0.005")).toBe("-0.005");
    expect(bare("007")).toBe("7");
  });
});

describe("a touch of the plan", () => {
  const usual = { finder: "finder", under: "paper", sweeps: "coaxial indicator" };
  const down = { what: "T3: bring its tip down on top", on: "top", toward: "-Z", tool: 3, also: "", with: "paper" };

  it("asks where along the face it is made, where that gives the angle", () => {
    const again = { what: "the angle: touch fixed jaw again far away, X as well", on: "fixed jaw", toward: "+Y", tool: null, also: "X", with: "finder" };
    const typed = { ...begun(nothingTyped("mm"), again), y: "-178.010" };
    expect(fieldsOf(typed).filter((one) => one.must).map((one) => one.field)).toEqual(["x", "y"]);
    expect(readingOf(typed, "first")).toBeUndefined();
    expect(readingOf({ ...typed, x: "-240.1" }, "first")).toMatchObject({ display: { x: "-240.1 mm", y: "-178.010 mm" } });
    expect(readingOf(onFace(typed, undefined, "back", usual), "first")).toBeDefined();
  });

  it("needs only its position, and keeps the step", () => {
    const typed = begun({ ...nothingTyped("inch"), step: "0.0005", x: "1", on: "left" }, down);
    expect(hasDigits(typed)).toBe(false);
    expect(readingOf({ ...typed, z: "-12.141" }, "first")).toEqual({
      setup: "first", on: "top", toward: "-Z", tool: 3, with: "paper", display: { z: "-12.141 in" }, last_step: "0.0005 in",
    });
  });

  it("gives way to another face, with the directions it has", () => {
    const face = (ways: string[]): FaceDrawn => ({ name: "f", kind: "flat", ways, made: false, held: false, at: [0, 0, 0], diameter_mm: null, half: null, facing: null });
    const typed = begun(nothingTyped("mm"), down);
    expect(waysOf(face(["+X"]))).toEqual(["+X"]);
    expect(onFace(typed, face(["+X"]), "left", usual)).toMatchObject({ on: "left", toward: "+X", with: "finder", under: false, tool: "" });
    expect(onFace(typed, face(["-Z"]), "step", usual)).toMatchObject({ on: "step", toward: "-Z", with: "paper", tool: "3" });
    expect(onFace(typed, face(["+X", "-X", "+Y", "-Y", "sweep"]), "bore A", usual)).toMatchObject({ on: "bore A", toward: "" });
  });

  it("takes the instrument that goes the way that was chosen, and keeps one that was chosen for it", () => {
    const bore = { ...nothingTyped("mm"), on: "bore A", with: "finder" };
    const swept = moving(bore, "sweep", usual);
    expect(swept).toMatchObject({ toward: "sweep", with: "coaxial indicator" });
    expect(moving(swept, "+X", usual)).toMatchObject({ toward: "+X", with: "finder" });
    expect(moving({ ...bore, with: "probe" }, "sweep", usual)).toMatchObject({ with: "probe" });
    expect(moving({ ...bore, on: "top" }, "-Z", usual)).toMatchObject({ with: "paper", under: true });
    expect(moving({ ...begun(bore, down), with: "setter" }, "-Z", usual)).toMatchObject({ with: "setter", under: true, tool: "3" });
    expect(readingOf({ ...swept, x: "-212.402", y: "-118.310", step: "" }, "first")).toEqual({
      setup: "first", on: "bore A", toward: "sweep", with: "coaxial indicator", display: { x: "-212.402 mm", y: "-118.310 mm" },
    });
  });
});

describe("a reading as it is typed", () => {
  const typed = { ...nothingTyped("mm"), on: "bore A", toward: "-X", with: "finder-10", x: "−314,87", step: "0.01" };

  it("goes to the server with its units and only what was read", () => {
    expect(readingOf(typed, "first side")).toEqual({
      setup: "first side", on: "bore A", toward: "-X", with: "finder-10", display: { x: "-314.87 mm" }, last_step: "0.01 mm",
    });
  });

  it("waits for the axis it moves along", () => {
    expect(readingOf({ ...typed, x: "", y: "1" }, "first side")).toBeUndefined();
    expect(readingOf({ ...typed, x: "-" }, "first side")).toBeUndefined();
    expect(axesOf({ ...typed, toward: "sweep" }).needed).toEqual(["x", "y"]);
    expect(axesOf({ ...typed, list: "tool_length" }).needed).toEqual(["z"]);
  });

  it("with what stands under a tool waits for the tool", () => {
    const setter = { ...typed, on: "top", toward: "-Z", with: "height-setter", z: "-318.2", under: true };
    expect(readingOf(setter, "a")).toBeUndefined();
    const written = readingOf({ ...setter, tool: "3" }, "a");
    expect(written).toMatchObject({ on: "top", tool: 3, with: "height-setter" });
    expect(typedFrom("contact", written ?? {}, "mm")).toMatchObject({ under: true, tool: "3" });
    expect(nextOf({ ...setter, tool: "3" }).under).toBe(true);
  });

  it("comes back as it was written, in its own unit", () => {
    const written = { setup: "a", on: "top", with: "f", toward: "-Z", display: { z: "-12.5 in" }, last_step: "0.001 in" };
    const again = typedFrom("contact", written, "mm");
    expect(again.unit).toBe("inch");
    expect(again.z).toBe("-12.5");
    expect(readingOf(again, "a")).toEqual(written);
    expect(unitOf('units = "in"\n')).toBe("inch");
    expect(typedFrom("contact", { display: { z: -3 } }, "inch").unit).toBe("inch");
  });

  it("of a diameter is shown, or comes from two sides", () => {
    const tool = { ...nothingTyped("mm"), list: "tool_diameter" as const, tool: "2", with: "setter", shown: "15,99" };
    expect(readingOf(tool, "a")).toEqual({ setup: "a", tool: 2, with: "setter", shown: "15.99 mm" });
    const sides = { ...tool, measured: "sides" as const, one: "-10", other: "31.99" };
    expect(fieldsOf(sides).filter((one) => one.must).map((one) => one.field)).toEqual(["one", "other", "across"]);
    expect(readingOf(sides, "a")).toBeUndefined();
    const written = readingOf({ ...sides, across: "26" }, "a");
    expect(written).toEqual({ setup: "a", tool: 2, with: "setter", sides: ["-10 mm", "31.99 mm"], across: "26 mm", last_step: "0.01 mm" });
    expect(readingOf(typedFrom("tool_diameter", written ?? {}, "inch"), "a")).toEqual(written);
  });

  it("leaves its choices to the next one, and what else it says to the changed one", () => {
    expect(nextOf(typed)).toEqual({ ...typed, x: "" });
    const written = { setup: "a", on: "top", with: "f", toward: "-Z", display: { z: -3 }, speed: "500 rpm", by: "Ada", purpose: "check" };
    expect(besides(written)).toEqual({ speed: "500 rpm", by: "Ada", purpose: "check" });
  });

  it("is typed on the pad", () => {
    const keys = ["3", "0", ".", ".", "5", "sign", "back", "7"];
    expect(keys.reduce(pressed, "")).toBe("-30.7");
    expect(pressed("-30.7", "sign")).toBe("30.7");
    expect(pressed("-30.7", "clear")).toBe("");
    expect(["-3", "3.", ".5", "+1,25"].every(isNumber)).toBe(true);
    expect(["", "-", "1.2.3", "1e5", "x"].some(isNumber)).toBe(false);
  });
});

describe("a thing of the shop as text", () => {
  const text = '# ours\nname = "end mill" # the old one\ndiameter = 16\nholder = [1, 2]\n\n[shank]\ndiameter = "15 mm"\n\n[[holder]]\nlength = 3\n';

  it("shows its values in their tables", () => {
    expect(valuesIn(text).map((one) => [one.section, one.key, one.text])).toEqual([
      ["", "name", "end mill"], ["", "diameter", "16"], ["", "holder", "[1, 2]"], ["shank", "diameter", "15 mm"], ["holder 1", "length", "3"],
    ]);
    expect(valuesIn(text)[0]?.note).toBe("the old one");
  });

  it("numbers what stands in each of several", () => {
    const job = "[[setup]]\nname = 1\n[setup.blank]\nbox = 2\n[[setup.tool]]\nuse = 3\n[[setup]]\nname = 4\n[setup.blank]\nbox = 5\n[[setup.tool]]\nuse = 6\n";
    const sections = valuesIn(job).map((one) => one.section);
    expect(sections).toEqual(["setup 1", "setup 1, blank", "setup 1, tool 1", "setup 2", "setup 2, blank", "setup 2, tool 1"]);
  });

  it("changes one value and no other byte", () => {
    const [name, diameter] = valuesIn(text);
    if (name === undefined || diameter === undefined) throw new Error("the values are gone");
    expect(withValue(text, diameter, "12")).toBe(text.replace("diameter = 16", "diameter = 12"));
    expect(withValue(text, diameter, "12 mm")).toBe(text.replace("diameter = 16", 'diameter = "12 mm"'));
    const holder = valuesIn(text)[2];
    if (holder === undefined) throw new Error("the list is gone");
    expect(withValue(text, holder, "[3]")).toBe(text.replace("[1, 2]", "[3]"));
    expect(withValue(text, name, 'a "b"')).toBe(text.replace('"end mill"', '"a \\"b\\""'));
  });
});
