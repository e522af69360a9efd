// The next piece as it would come out now, and with what is to be typed: two distributions against the limits, feature by feature.

import type { ReactNode } from "react";

import type { PieceOfSetup, PredictedSaid } from "../../wire/api.gen";
import { words } from "../../words";

const said = words.piece;
const WIDE = 300;
const HIGH = 92;
const FOOT = 6;
const REACH = 3;
const STEPS = 64;
const SQUARE = 130;
const ROOM = 0.35;

export function Outlook({ of }: { of: PieceOfSetup }): ReactNode {
  const { told } = of;
  if (told === null) return null;
  const concerned = told.predicted.filter((one) => one.concerned);
  if (concerned.length === 0) return null;
  const moved = told.registers.length > 0;
  const byPlan = (one: PredictedSaid): number => of.plan.findIndex((row) => row.requirement === one.name);
  const worstFirst = [...concerned].sort(
    (a, b) => Number(moves(b)) - Number(moves(a)) || (a.probability_before ?? 1) - (b.probability_before ?? 1) || byPlan(a) - byPlan(b),
  );
  const limits = new Map(of.plan.map((row) => [row.requirement, row.zone_said || row.said]));
  return (
    <section>
      <h2>{moved ? said.outlook : said.outlookAsIs}</h2>
      {moved && (
        <p className="outlook-key" aria-hidden="true">
          <svg width="34" height="14">
            <path className="curve now" d="M0 7h34" />
          </svg>
          {said.now}
          <svg width="34" height="14">
            <path className="curve then" d="M0 7h34" />
          </svg>
          {said.then}
        </p>
      )}
      <ul className="outlook">
        {worstFirst.map((one) => (
          <li key={one.name}>
            <h3>{one.name}</h3>
            <p className="faint">{limits.get(one.name)}</p>
            {one.aims.length > 1 ? <Zone one={one} /> : <Curves one={one} />}
            <p>
              {moves(one) ? said.fromTo(one.said.now, one.said.then) : one.said.now} <span className="faint">{one.said.sure}</span>
              <br />
              <strong>{moves(one) ? said.chanceFromTo(one.said.chance_now, one.said.chance_then) : said.chance(one.said.chance_now)}</strong>
            </p>
          </li>
        ))}
      </ul>
    </section>
  );
}

/** Whether the change moves this feature. */
const moves = (one: PredictedSaid): boolean => one.said.now !== one.said.then;

/** The normal density from `mean` - 3 to + 3 standard deviations as a path; as high as it is sharp, the sharpest fills the height. */
function bell(mean: number, spread: number, peak: number, x: (value: number) => number): string {
  const points = Array.from({ length: STEPS + 1 }, (_, k) => {
    const z = REACH * (2 * (k / STEPS) - 1);
    return `${x(mean + z * spread).toFixed(1)} ${(HIGH - FOOT - (HIGH - 2 * FOOT) * peak * Math.exp(-0.5 * z * z)).toFixed(1)}`;
  });
  return `M${points.join("L")}`;
}

/** A size: its limits as two lines, and where the next piece falls between them. */
function Curves({ one }: { one: PredictedSaid }): ReactNode {
  const { limits } = one;
  const now = one.before[0] ?? 0;
  const then = one.after[0] ?? 0;
  const spread = Math.max((one.uncertainty[0] ?? 0) / 2, 1e-9);
  if (limits === null) return null;
  const low = Math.min(limits[0], now - REACH * spread, then - REACH * spread);
  const high = Math.max(limits[1], now + REACH * spread, then + REACH * spread);
  const room = (limits[1] - limits[0]) * ROOM;
  const x = (value: number): number => ((value - low + room) / Math.max(high - low + 2 * room, 1e-9)) * WIDE;
  const [from, to] = [x(limits[0]), x(limits[1])];
  return (
    <svg className="curves" viewBox={`0 0 ${WIDE} ${HIGH}`} role="img" aria-label={label(one)}>
      <rect className="inside" x={from} y="0" width={to - from} height={HIGH - FOOT} />
      <path className="limit" d={`M${from} 0V${HIGH}M${to} 0V${HIGH}`} />
      <path className="middle" d={`M${(from + to) / 2} 0V${HIGH - FOOT}`} />
      <path className="base" d={`M0 ${HIGH - FOOT}H${WIDE}`} />
      {moves(one) && <path className="curve now" d={bell(now, spread, 1, x)} />}
      <path className="curve then" d={bell(then, spread, 1, x)} />
    </svg>
  );
}

/** A centre: the zone it must lie in, and where it lies, with the ring of twice its standard deviation. */
function Zone({ one }: { one: PredictedSaid }): ReactNode {
  const [ax = 0, ay = 0] = one.aims;
  const half = one.half ?? 0;
  const sure = Math.max(...one.uncertainty);
  const off = (at: readonly number[]): [number, number] => [(at[0] ?? 0) - ax, (at[1] ?? 0) - ay];
  const reach = Math.max(half, ...[off(one.before), off(one.after)].map(([x, y]) => Math.hypot(x, y) + sure), 1e-9) * 1.08;
  const at = (value: number): number => (value / reach) * (SQUARE / 2);
  const ring = (kind: string, [x, y]: [number, number]): ReactNode => (
    <>
      <circle className={`curve ${kind}`} cx={at(x)} cy={-at(y)} r={Math.max(at(sure), 2)} />
      <circle className={`dot ${kind}`} cx={at(x)} cy={-at(y)} r="3" />
    </>
  );
  return (
    <svg className="zone-picture" viewBox={`${-SQUARE / 2} ${-SQUARE / 2} ${SQUARE} ${SQUARE}`} role="img" aria-label={label(one)}>
      <circle className="inside" r={at(half)} />
      <circle className="limit" r={at(half)} />
      <path className="middle" d={`M${-SQUARE / 2} 0H${SQUARE / 2}M0 ${-SQUARE / 2}V${SQUARE / 2}`} />
      {moves(one) && ring("now", off(one.before))}
      {ring("then", off(one.after))}
    </svg>
  );
}

function label(one: PredictedSaid): string {
  const { now, then, chance_now, chance_then } = one.said;
  return moves(one) ? said.curvesMoved(one.name, now, then, chance_now, chance_then) : said.curves(one.name, now, chance_now);
}
