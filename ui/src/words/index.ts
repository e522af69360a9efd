import { en, type Words } from "./en";

/** The words in force. One language so far; a second one is chosen here. */
export const words: Words = en;
