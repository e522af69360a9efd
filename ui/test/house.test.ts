// The rules of the house for these sources, held against every file.

import { readdirSync, readFileSync, statSync } from "node:fs";
import { join, relative } from "node:path";

import { describe, expect, it } from "vitest";

const SRC = join(import.meta.dirname, "..", "src");

function files(folder: string): string[] {
  return readdirSync(folder).flatMap((name) => {
    const path = join(folder, name);
    return statSync(path).isDirectory() ? files(path) : [path];
  });
}

const sources = files(SRC).filter((path) => /\.tsx?$/.test(path) && !path.endsWith(".gen.ts"));
const name = (path: string): string => relative(SRC, path);

function complaints(look: (text: string, path: string) => string[], wanted: (path: string) => boolean = () => true): string[] {
  return sources.filter((path) => wanted(name(path))).flatMap((path) => look(readFileSync(path, "utf8"), path).map((one) => `${name(path)}: ${one}`));
}

describe("the house", () => {
  it("has something to look at", () => expect(sources.length).toBeGreaterThan(30));

  it("keeps files short", () => {
    expect(complaints((text) => (text.split("\n").length > 600 ? ["more than 600 lines"] : []))).toEqual([]);
  });

  it("keeps every word that is shown in the catalogue", () => {
    const shown = /(?<!=)>\s*([A-Za-z][a-z]+(?: [a-z]+)*)[^<>{}=;()]*<\//g;
    const attribute = /(?:aria-label|title|alt|placeholder|label)="([^"]*[A-Za-z]{2,}[^"]*)"/g;
    const look = (text: string): string[] => [...text.matchAll(shown), ...text.matchAll(attribute)].map((found) => found[0]);
    expect(complaints(look, (path) => path.endsWith(".tsx") && !path.startsWith("words"))).toEqual([]);
  });

  it("casts numbers to quantities in one file only", () => {
    const cast = /\bas (?:Mm|Seconds|MmPerMin|Rpm|Mm3|Mm3PerMin)\b/g;
    expect(complaints((text) => text.match(cast) ?? [], (path) => path !== "units/units.ts")).toEqual([]);
  });

  it("fetches nothing from elsewhere and writes no style or script into the page", () => {
    const wrong = /https?:\/\/|dangerouslySetInnerHTML|insertAdjacentHTML|\.innerHTML|createElement\("(?:style|script)"\)|\beval\(/g;
    expect(complaints((text) => text.match(wrong) ?? [])).toEqual([]);
  });
});
