// Every word the pages show, in one catalogue: a file a page, joined here. Another language is another set of the same shape.
// A text with numbers in it is a function, so that word order stays the language's own.

import { bench } from "./en/bench";
import { board } from "./en/board";
import { card } from "./en/card";
import { common } from "./en/common";
import { findings } from "./en/findings";
import { program } from "./en/program";
import { prove } from "./en/prove";
import { read } from "./en/read";
import { strip } from "./en/strip";
import { touch } from "./en/touch";

export const en = { bench, board, card, common, findings, program, prove, read, strip, touch };

export type Words = typeof en;
