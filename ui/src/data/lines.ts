// A thing's text taken apart into its values, so that each can be typed in a field of its own; every other byte stays.

export interface Value {
  /** Line in the text, from 0. */
  line: number;
  /** The table it stands in, "" for the top; "holder 2" for the second of several, "setup 2, blank" for a table within one. */
  section: string;
  key: string;
  /** As written, without quotes where it is a text. */
  text: string;
  quoted: boolean;
  /** A list or a table on one line: written as it is typed. */
  raw: boolean;
  /** The comment beside it or on the lines above. */
  note: string;
}

const PAIR = /^(\s*([A-Za-z0-9_-]+)\s*=\s*)("(?:[^"\\]|\\.)*"|[^#]*?)(\s*(?:#.*)?)$/;
const REMARK = /^\s*#\s?(.*)$/;
const HEAD = /^\s*\[\[?\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$/;

/** Every line of the form key = value, in order. What stands over several lines is left to the text. */
export function valuesIn(text: string): Value[] {
  const found: Value[] = [];
  const seen = new Map<string, number>();
  let section = "";
  let above: string[] = [];
  const lists = new Set<string>();
  for (const [line, written] of text.split("\n").entries()) {
    const remark = REMARK.exec(written);
    if (remark !== null) {
      above.push(remark[1] ?? "");
      continue;
    }
    const before = above.join(" ");
    above = [];
    const head = HEAD.exec(written);
    if (head !== null && !written.includes("=")) {
      const name = head[1] ?? "";
      const count = (seen.get(name) ?? 0) + 1;
      seen.set(name, count);
      const several = written.trim().startsWith("[[");
      if (several) for (const other of [...seen.keys()]) if (other.startsWith(`${name}.`)) seen.delete(other);
      section = said(name, several ? count : undefined, seen, lists);
      if (several) lists.add(name);
      continue;
    }
    const pair = PAIR.exec(written);
    const value = pair?.[3]?.trim() ?? "";
    const raw = /^(\[.*\]|\{.*\})$/.test(value);
    if (pair === null || value === "" || (/^[[{]/.test(value) && !raw) || value.startsWith('"""')) continue;
    const beside = (pair[4] ?? "").replace(/^\s*#\s?/, "");
    const quoted = value.startsWith('"');
    found.push({ line, section, key: pair[2] ?? "", text: quoted ? value.slice(1, -1) : value, quoted, raw, note: beside === "" ? before : beside });
  }
  return found;
}

/** A table's name with the number of each list it stands in. */
function said(name: string, own: number | undefined, seen: ReadonlyMap<string, number>, lists: ReadonlySet<string>): string {
  const parts = name.split(".");
  return parts
    .map((part, index) => {
      const outer = parts.slice(0, index + 1).join(".");
      const count = index === parts.length - 1 ? own : lists.has(outer) ? seen.get(outer) : undefined;
      return count === undefined ? part : `${part} ${count}`;
    })
    .join(", ");
}

/** The text with one value written anew. A bare number stays bare while it is one; anything else is written as a text. */
export function withValue(text: string, value: Value, typed: string): string {
  const lines = text.split("\n");
  const pair = PAIR.exec(lines[value.line] ?? "");
  if (pair === null) return text;
  if (value.raw) return [...lines.slice(0, value.line), `${pair[1]}${typed}${pair[4]}`, ...lines.slice(value.line + 1)].join("\n");
  const bare = !value.quoted && /^([+-]?[\d.]+|true|false)$/.test(typed.trim());
  const written = bare ? typed.trim() : `"${typed.replaceAll("\\", "\\\\").replaceAll('"', '\\"')}"`;
  lines[value.line] = `${pair[1]}${written}${pair[4]}`;
  return lines.join("\n");
}
