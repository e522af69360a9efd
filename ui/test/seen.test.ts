import { describe, expect, it } from "vitest";

import { answersOf, checkTitle, furtherOf, inWords, keptSeen, type Seen, sentence, sheetSays } from "../src/pages/hover/seen";
import type { DiagnosisSaid } from "../src/wire/api.gen";

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

describe("what explains it", () => {
  const slip = (text: string, probability: number, others: string[] = []) =>
    ({ slug: "s", text, probability, outcome: "crash", remedy: `mend ${text}`, cannot_tell_from: others }) as const;
  const open: DiagnosisSaid = {
    no_slip: 0.3, unlisted: 0.001, settled: false, ranked: [slip("a", 0.4), slip("b", 0.297), slip("c", 0.002)],
    tells_apart: { name: "Feeler at the stop", do: "Try a feeler." }, next_check: { name: "Read G54", bits: 0.4, do: "Read it." },
  };

  it("stands by its probability, without what hardly counts", () => {
    expect(answersOf(open).map((one) => one.text)).toEqual(["a", "No slip at all", "b"]);
    expect(answersOf(open)[0]).toEqual({ probability: 0.4, text: "a", ends: "crash", remedy: "mend a" });
  });

  it("says what to look at next, and what tells the first two apart, once", () => {
    expect(furtherOf(open)).toEqual(["Look next: Read it.", "The first two are told apart best so: Try a feeler."]);
    expect(furtherOf({ ...open, tells_apart: { name: "Read G54", do: "Read it." } })).toEqual(["Look next: Read it."]);
    expect(furtherOf({ ...open, tells_apart: null, next_check: null })).toEqual(["No check of the list can tell these apart: touch again."]);
  });

  it("is settled only where it is said to be, and names what no check can tell from it", () => {
    const settled = { ...open, settled: true, no_slip: 0.01, ranked: [slip("a", 0.98, ["b", "c"])], tells_apart: null, next_check: null };
    expect(furtherOf(settled)).toEqual(["No check of the list can tell the first from: b; c", "It is settled: the first fits all that was seen."]);
  });
});
