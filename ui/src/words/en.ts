// Every word the pages show, in one catalogue: a file a page, joined here. Another language is another set of the same shape.
// A text with numbers in it is a function, so that word order stays the language's own.

import { bench } from "./en/bench";
import { board } from "./en/board";
import { card } from "./en/card";
import { common } from "./en/common";
import { files } from "./en/files";
import { findings } from "./en/findings";
import { program } from "./en/program";
import { history } from "./en/history";
import { hover } from "./en/hover";
import { kit } from "./en/kit";
import { measure } from "./en/measure";
import { people, signin } from "./en/people";
import { piece } from "./en/piece";
import { prove } from "./en/prove";
import { read } from "./en/read";
import { run } from "./en/run";
import { sheet } from "./en/sheet";
import { shop } from "./en/shop";
import { strip } from "./en/strip";
import { touch } from "./en/touch";

export const en = {
  bench, board, card, common, files, findings, history, hover, kit, measure, people, piece, program, prove, read, run, sheet, shop, signin, strip, touch,
};

export type Words = typeof en;
