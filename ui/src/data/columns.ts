// The server's columns: 4 bytes with the length of a JSON head, little-endian; the head; the columns, each beginning at a multiple of 8.
// Nothing is copied: every column looks into the bytes that came.

const TYPES = {
  float64: Float64Array,
  float32: Float32Array,
  int64: BigInt64Array,
  int32: Int32Array,
  int16: Int16Array,
  int8: Int8Array,
  uint32: Uint32Array,
  uint16: Uint16Array,
  uint8: Uint8Array,
  bool: Uint8Array,
} as const;

type TypeName = keyof typeof TYPES;
export type Column = InstanceType<(typeof TYPES)[TypeName]>;
export type Numbers = Exclude<Column, BigInt64Array>;

interface Place {
  name: string;
  type: string;
  shape: number[];
  at: number;
}

export interface Columns<Head> {
  head: Head;
  shape: (name: string) => readonly number[];
  /** The column of that name as numbers; int64 is narrowed. Throws if it is not there. */
  numbers: (name: string) => Numbers;
  has: (name: string) => boolean;
}

/** Read a document of columns. Throws if it is not one. */
export function columnsIn<Head = Record<string, unknown>>(data: ArrayBuffer): Columns<Head> {
  if (data.byteLength < 4) throw new Error("the columns are cut short");
  const length = new DataView(data).getUint32(0, true);
  if (4 + length > data.byteLength) throw new Error("the columns are cut short");
  const head: Head & { columns: Place[] } = JSON.parse(new TextDecoder().decode(new Uint8Array(data, 4, length)));
  const places = new Map(head.columns.map((place) => [place.name, place]));
  const find = (name: string): Place => {
    const place = places.get(name);
    if (place === undefined) throw new Error(`there is no column ${name}`);
    return place;
  };
  const numbers = (name: string): Numbers => {
    const place = find(name);
    if (!(place.type in TYPES)) throw new Error(`the column ${name} has the unknown type ${place.type}`);
    const count = place.shape.reduce((product, one) => product * one, 1);
    const made = new TYPES[place.type as TypeName](data, 4 + length + place.at, count);
    return made instanceof BigInt64Array ? Float64Array.from(made, Number) : made;
  };
  return { head, numbers, has: (name) => places.has(name), shape: (name) => find(name).shape };
}
