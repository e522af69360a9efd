// A tool from the side as it is revolved, and bodies as boxes, to scale. The server says every number; here they are only placed.

import type { ReactNode } from "react";

import type { Revolved, Shape, ToolShape } from "../wire/api.gen";

const ARC_PARTS = 16;

/** The right half of a piece's outline from its lower end to its upper, as radius and height. */
function outline(piece: Revolved): Array<readonly [number, number]> {
  if (piece.meridian === "line") {
    return [
      [piece.r0, piece.z0],
      [piece.r1, piece.z1],
    ];
  }
  return Array.from({ length: ARC_PARTS + 1 }, (_, k) => {
    const z = piece.z0 + ((piece.z1 - piece.z0) * k) / ARC_PARTS;
    const away = z - piece.f;
    return [piece.e + Math.sqrt(Math.max(piece.rho * piece.rho - away * away, 0)), z] as const;
  });
}

interface ToolProps {
  tool: ToolShape;
  label: string;
  width: number;
  height: number;
}

/** A tool, tip down. What cuts is hatched; what does not is plain. */
export function ToolOutline({ tool, label, width, height }: ToolProps): ReactNode {
  const pieces = tool.pieces.filter((piece) => piece.part !== "nose");
  const top = Math.max(...pieces.map((piece) => piece.z1), 1);
  const wide = Math.max(...pieces.flatMap((piece) => outline(piece).map(([r]) => r)), 1);
  const scale = Math.min((width - 8) / (2 * wide), (height - 8) / top);
  const x = (r: number): string => (width / 2 + r * scale).toFixed(1);
  const y = (z: number): string => (height - 4 - z * scale).toFixed(1);
  return (
    <svg className="outline" viewBox={`0 0 ${width} ${height}`} width={width} height={height} role="img" aria-label={label}>
      {pieces.map((piece, index) => {
        const right = outline(piece);
        const left = [...right].reverse().map(([r, z]) => [-r, z] as const);
        const d = [...right, ...left].map(([r, z], k) => `${k === 0 ? "M" : "L"}${x(r)} ${y(z)}`).join("");
        return <path key={index} d={`${d}z`} className={piece.part === "cutting" ? "cuts" : "body"} />;
      })}
      <path d={`M${x(0)} 0V${height}`} className="centre-line" />
    </svg>
  );
}

type Axes = readonly [across: 0 | 1 | 2, up: 0 | 1 | 2];

interface BoxedBody {
  name: string;
  min: readonly number[];
  max: readonly number[];
}

/** The boxes of shapes; of a mesh the box around it. */
export function boxed(shape: Shape): BoxedBody {
  if (shape.box) return { name: shape.name, min: shape.box.low, max: shape.box.high };
  if (shape.cylinder) {
    const { centre, radius, bottom, top } = shape.cylinder;
    return { name: shape.name, min: [centre[0] - radius, centre[1] - radius, bottom], max: [centre[0] + radius, centre[1] + radius, top] };
  }
  const numbers = shape.mesh?.triangles ?? [];
  const of = (axis: number, pick: (...values: number[]) => number): number =>
    numbers.filter((_, k) => k % 3 === axis).reduce((found, value) => pick(found, value), pick === Math.min ? Infinity : -Infinity);
  return { name: shape.name, min: [0, 1, 2].map((axis) => of(axis, Math.min)), max: [0, 1, 2].map((axis) => of(axis, Math.max)) };
}

interface BodiesProps {
  bodies: readonly BoxedBody[];
  /** The part: drawn on top. */
  part?: BoxedBody;
  axes: Axes;
  label: string;
  width: number;
  height: number;
  zero?: boolean;
}

/** Bodies seen along one axis, to scale; what is nearer to the eye covers what is behind it. */
export function BodiesOutline({ bodies, part, axes: [across, up], label, width, height, zero = false }: BodiesProps): ReactNode {
  const all = part === undefined ? bodies : [...bodies, part];
  if (all.length === 0) return null;
  const low = (axis: number): number => Math.min(...all.map((one) => one.min[axis] ?? 0));
  const high = (axis: number): number => Math.max(...all.map((one) => one.max[axis] ?? 0));
  const scale = Math.min((width - 16) / Math.max(high(across) - low(across), 1), (height - 16) / Math.max(high(up) - low(up), 1));
  const wide = (high(across) - low(across)) * scale + 16;
  const tall = (high(up) - low(up)) * scale + 16;
  const towards = ([0, 1, 2] as const).find((axis) => axis !== across && axis !== up) ?? 2;
  // From above and from the right the eye is on the positive side of the third axis, from the front on its negative side.
  const near = (one: BoxedBody): number => (towards === 1 ? -(one.min[1] ?? 0) : (one.max[towards] ?? 0));
  const behindFirst = [...bodies].sort((a, b) => near(a) - near(b));
  const x = (value: number): number => 8 + (value - low(across)) * scale;
  const y = (value: number): number => 8 + (high(up) - value) * scale;
  const place = (one: BoxedBody): { x: number; y: number; width: number; height: number } => ({
    x: x(one.min[across] ?? 0),
    y: y(one.max[up] ?? 0),
    width: Math.max(((one.max[across] ?? 0) - (one.min[across] ?? 0)) * scale, 0.5),
    height: Math.max(((one.max[up] ?? 0) - (one.min[up] ?? 0)) * scale, 0.5),
  });
  return (
    <svg className="outline" viewBox={`0 0 ${wide.toFixed(0)} ${tall.toFixed(0)}`} width={wide} height={tall} role="img" aria-label={label}>
      {behindFirst.map((one) => (
        <rect key={one.name} className="held" {...place(one)}>
          <title>{one.name}</title>
        </rect>
      ))}
      {part !== undefined && <rect className="part" {...place(part)} />}
      {zero && <path className="centre-line strong" d={`M${x(0) - 11} ${y(0)}h22M${x(0)} ${y(0) - 11}v22`} />}
    </svg>
  );
}
