// A number to type against what the control shows, digit by digit. Nothing is rounded: what counts is what stands on the screen.

export type Compared = { state: "empty" } | { state: "same" } | { state: "more" } | { state: "differs"; digit: number };

/** Digits as they count: a true minus becomes a hyphen, a comma a point; blanks, a plus and zeros before the number go. */
export function bare(text: string): string {
  const plain = text.replaceAll("−", "-").replaceAll(",", ".").replace(/[\s+]/g, "");
  const sign = plain.startsWith("-") ? "-" : "";
  const [whole = "", ...rest] = plain.replace(/^-/, "").split(".");
  const head = whole.replace(/^0+(?=\d)/, "") || "0";
  return sign + (rest.length > 0 ? `${head}.${rest.join(".")}` : head);
}

/** Compare what was typed with what the control shows. `digit`: the first one that differs, from 1, counting digits only. A control
 * that shows more decimals than were typed must show zeros there. */
export function compare(wanted: string, shown: string): Compared {
  if (shown.trim() === "" || /^[\s+−-]*$/.test(shown)) return { state: "empty" };
  const a = bare(wanted);
  const b = bare(shown);
  let digit = 0;
  for (let at = 0; at < Math.max(a.length, b.length); at++) {
    const one = a[at];
    const other = b[at];
    if (one !== undefined && /\d/.test(one)) digit++;
    if (one === other) continue;
    if (other === undefined) return { state: "more" };
    if (one === undefined) {
      if (other === "." || other === "0") continue;
      return { state: "differs", digit: digit + 1 };
    }
    return { state: "differs", digit: /\d/.test(one) ? digit : digit + 1 };
  }
  return { state: "same" };
}
