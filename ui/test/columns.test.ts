import { describe, expect, it } from "vitest";

import { columnsIn } from "../src/data/columns";

/** The format as docs/record.md states it, written by hand: length of the head, head, columns at multiples of 8. */
function written(head: object, parts: Array<[number, ArrayBufferView]>): ArrayBuffer {
  let text = JSON.stringify(head);
  text += " ".repeat((8 - ((new TextEncoder().encode(text).length + 4) % 8)) % 8);
  const bytes = new TextEncoder().encode(text);
  const size = Math.max(0, ...parts.map(([at, part]) => at + part.byteLength));
  const data = new ArrayBuffer(4 + bytes.length + size);
  new DataView(data).setUint32(0, bytes.length, true);
  new Uint8Array(data, 4, bytes.length).set(bytes);
  for (const [at, part] of parts) new Uint8Array(data, 4 + bytes.length + at, part.byteLength).set(new Uint8Array(part.buffer));
  return data;
}

describe("columns", () => {
  const head = {
    setup: "erste Seite – ä",
    columns: [
      { name: "line", type: "int32", shape: [3], at: 0 },
      { name: "point", type: "float64", shape: [2, 3], at: 16 },
      { name: "when", type: "int64", shape: [1], at: 64 },
    ],
  };
  const data = written(head, [
    [0, Int32Array.of(7, 8, 9)],
    [16, Float64Array.of(1.5, 2, 3, 4, 5, 6)],
    [64, BigInt64Array.of(12n)],
  ]);
  it("gives every column with its type, its shape and the head", () => {
    const columns = columnsIn<{ setup: string }>(data);
    expect(columns.head.setup).toBe("erste Seite – ä");
    expect([...columns.numbers("line")]).toEqual([7, 8, 9]);
    expect(columns.numbers("point")).toEqual(Float64Array.of(1.5, 2, 3, 4, 5, 6));
    expect(columns.shape("point")).toEqual([2, 3]);
    expect([...columns.numbers("when")]).toEqual([12]);
    expect(columns.has("feed")).toBe(false);
  });
  it("refuses what is cut short, unknown or not there", () => {
    expect(() => columnsIn(data.slice(0, 3))).toThrow("cut short");
    expect(() => columnsIn(data.slice(0, 40))).toThrow("cut short");
    expect(() => columnsIn(data).numbers("feed")).toThrow("no column feed");
    const odd = written({ columns: [{ name: "a", type: "complex64", shape: [1], at: 0 }] }, [[0, Float64Array.of(1)]]);
    expect(() => columnsIn(odd).numbers("a")).toThrow("unknown type");
  });
});
