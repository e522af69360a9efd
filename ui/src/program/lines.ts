// The text of a program as lines, without a copy of each: where every line begins, and its text when it is shown.

export interface ProgramLines {
  readonly count: number;
  /** The text of a line, from 1, without its end. */
  text: (line: number) => string;
}

const LF = 10;
const CR = 13;

/** Lines end with LF, CR LF or CR; an end at the very end begins no further line. */
export function linesIn(data: ArrayBuffer): ProgramLines {
  const bytes = new Uint8Array(data);
  const begins: number[] = [0];
  for (let at = 0; at < bytes.length; at++) {
    const byte = bytes[at];
    if (byte === LF || (byte === CR && bytes[at + 1] !== LF)) begins.push(at + 1);
  }
  if (begins.length > 1 && begins[begins.length - 1] === bytes.length) begins.pop();
  const decoder = new TextDecoder(isUtf8(bytes) ? "utf-8" : "latin1");
  return {
    count: begins.length,
    text: (line) => {
      const from = begins[line - 1];
      if (from === undefined) return "";
      let to = begins[line] ?? bytes.length;
      while (to > from && (bytes[to - 1] === LF || bytes[to - 1] === CR)) to--;
      return decoder.decode(bytes.subarray(from, to)).replace(/\u0000/g, "");
    },
  };
}

function isUtf8(bytes: Uint8Array): boolean {
  try {
    new TextDecoder("utf-8", { fatal: true }).decode(bytes);
    return true;
  } catch {
    return false;
  }
}
