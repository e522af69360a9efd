// A thing's text taken apart into its values, so that each can be typed in a field of its own; every other byte stays.

export interface Value {
  /** Line in the text, from 0. */
  line: number;
  /** The table it stands in, "" for the top; "holder 2" for the second of several. */
  section: string;
  key: string;
  /** As written, without quotes where it is a text. */
  text: string;
  quoted: boolean;
}

const PAIR = /^(\s*([A-Za-z0-9_-]+)\s*=\s*)("(?:[^"\\]|\\.)*"|[^#]*?)(\s*(?:#.*)?)$/;
const HEAD = /^\s*\[\[?\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$/;

/** Every line of the form key = value, in order. What stands over several lines is left to the text. */
export function valuesIn(text: string): Value[] {
  const found: Value[] = [];
  const seen = new Map<string, number>();
  let section = "";
  for (const [line, written] of text.split("\n").entries()) {
    const head = HEAD.exec(written);
    if (head !== null && !written.includes("=")) {
      const name = head[1] ?? "";
      const count = (seen.get(name) ?? 0) + 1;
      seen.set(name, count);
      section = written.trim().startsWith("[[") ? `${name} ${count}` : name;
      continue;
    }
    const pair = PAIR.exec(written);
    const value = pair?.[3]?.trim() ?? "";
    if (pair === null || value === "" || /^[[{]/.test(value) || value.startsWith('"""')) continue;
    const quoted = value.startsWith('"');
    found.push({ line, section, key: pair[2] ?? "", text: quoted ? value.slice(1, -1) : value, quoted });
  }
  return found;
}

/** The text with one value written anew. A bare number stays bare while it is one; anything else is written as a text. */
export function withValue(text: string, value: Value, typed: string): string {
  const lines = text.split("\n");
  const pair = PAIR.exec(lines[value.line] ?? "");
  if (pair === null) return text;
  const bare = !value.quoted && /^([+-]?[\d.]+|true|false)$/.test(typed.trim());
  const written = bare ? typed.trim() : `"${typed.replaceAll("\\", "\\\\").replaceAll('"', '\\"')}"`;
  lines[value.line] = `${pair[1]}${written}${pair[4]}`;
  return lines.join("\n");
}
