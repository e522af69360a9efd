import { describe, expect, it } from "vitest";

import { checkTitle, inWords, keptSeen, type Seen, sentence, sheetSays } from "../src/pages/hover/seen";

const tip: Seen = { slug: "tip-over-datum", on: "", title: "Bring the tip over the datum", what: "tip over datum, x", number: true, value: "-5,1" };
const register: Seen = { slug: "lengths-read-back", on: "T2", title: "Read back, T2", what: "length register", number: false, value: "131.848" };

describe("what was seen", () => {
  it("names a check with its tool, as it is ticked", () => {
    expect(checkTitle({ name: "Read back", on: "T2" })).toBe("Read back, T2");
    expect(checkTitle({ name: "Look how the blank lies", on: null })).toBe("Look how the blank lies");
  });

  it("says it to the server by axis or first word, a bare number with its unit", () => {
    expect(sentence(tip, "mm")).toBe("tip-over-datum x -5.1 mm");
    expect(sentence({ ...tip, value: "−0.2 in" }, "in")).toBe("tip-over-datum x -0.2 in");
    expect(sentence({ ...tip, value: null }, "mm")).toBe("tip-over-datum x as the sheet says");
    expect(sentence(register, "mm")).toBe("lengths-read-back T2 length 131.848");
    expect(sentence({ ...register, value: "" }, "mm")).toBe("lengths-read-back T2 length differs");
    expect(sentence(register, "in")).toBe("lengths-read-back T2 length differs");
  });

  it("says it to a person without a word of the program", () => {
    expect(inWords(tip, "mm")).toBe("Bring the tip over the datum: tip over datum X: -5,1 mm");
    expect(inWords({ ...register, value: null }, "mm")).toBe("Read back, T2: length register: as on the sheet");
  });

  it("gives every number of the sheet its unit, and no word a wrong sign", () => {
    expect(sheetSays({ what: "tool length", sheet: 131.4844, spread_mm: 0.01 }, "mm")).toBe("131.484 mm");
    expect(sheetSays({ what: "offset register", sheet: "X -304.863 Z -466.979", spread_mm: null }, "mm")).toBe("X −304.863 Z −466.979 mm");
    expect(sheetSays({ what: "display at hold point", sheet: "Z5.: at -90.000 21.000", spread_mm: null }, "mm")).toBe("Z5.: at −90.000 21.000 mm");
    expect(sheetSays({ what: "program head", sheet: "(DRAWING HL-2041)", spread_mm: null }, "mm")).toBe("(DRAWING HL-2041)");
  });

  it("starts anew where what was kept is no list", () => {
    expect(keptSeen("tip-over-datum x 5 mm")).toEqual([]);
    expect(keptSeen('[1, {"slug": "a"}]')).toHaveLength(1);
    expect(keptSeen("")).toEqual([]);
  });
});
