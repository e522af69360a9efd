// Every word the pages show, in one catalogue: a file a page, joined here. Another language is another set of the same shape.
// A text with numbers in it is a function, so that word order stays the language's own.

import { board } from "./en/board";
import { card } from "./en/card";
import { common } from "./en/common";
import { findings } from "./en/findings";
import { program } from "./en/program";
import { read } from "./en/read";

export const en = { board, card, common, findings, program, read };

export type Words = typeof en;
