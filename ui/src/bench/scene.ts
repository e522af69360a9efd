// The bodies of a setup as the server describes them: lengths mm, bodies in W, tools from the tip upward.

import type { Revolved, Scene, Shape, ToolShape } from "../wire/api.gen";

export type BodyShape = Shape;
export type SetupScene = Scene;
export type { ToolShape };

const ARC_STEPS = 16;

/** The outline of a revolved piece from bottom to top, [radius, height], closed to the axis at both ends. */
export function outline(piece: Revolved): Array<[r: number, z: number]> {
  const steps = piece.meridian === "arc" ? ARC_STEPS : 1;
  const side: Array<[number, number]> = [];
  for (let step = 0; step <= steps; step++) {
    const z = piece.z0 + ((piece.z1 - piece.z0) * step) / steps;
    const inside = Math.max(piece.rho * piece.rho - (z - piece.f) * (z - piece.f), 0);
    const r = piece.meridian === "arc" ? piece.e + Math.sqrt(inside) : step === 0 ? piece.r0 : piece.r1;
    side.push([Math.max(r, 0), z]);
  }
  return [[0, piece.z0], ...side, [0, piece.z1]];
}
