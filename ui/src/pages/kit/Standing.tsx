// Where on the table the holding may stand: the table from above, the field in which the program's zero may lie, and what ends it.

import type { ReactNode } from "react";

import { useSession } from "../../data/session";
import { type LengthUnit, length, mm } from "../../units/units";
import type { BorderSaid, KitOfSetup, PlaceOnTable } from "../../wire/api.gen";
import { words } from "../../words";

const WIDTH = 620;
const MARGIN = 14;

interface Field {
  left: number;
  right: number;
  front: number;
  back: number;
}

/** The drawn map, with the reason at each border, and the same in words. */
export function Standing({ kit }: { kit: KitOfSetup }): ReactNode {
  const { unit } = useSession();
  const stands = kit.may_stand;
  return (
    <section>
      <h2>{words.kit.mayStand}</h2>
      {stands === null ? (
        <p>{words.kit.mayStandOpen(kit.may_stand_open)}</p>
      ) : (
        <>
          <p>{stands.room ? words.kit.bestPlace(stands.offset, ...best(stands, unit)) : words.kit.noPlace}</p>
          {stands.guessed && <p>{words.kit.standingGuessed}</p>}
          <figure className="drawn">
            <Map kit={kit} stands={stands} />
            <figcaption className="faint">{words.kit.mapSaid(stands.offset)}</figcaption>
          </figure>
          <Borders stands={stands} unit={unit} />
        </>
      )}
    </section>
  );
}

const best = (stands: PlaceOnTable, unit: LengthUnit): [string, string] => [
  length(mm(stands.offset_mm[0] + stands.best_shift_mm[0]), unit),
  length(mm(stands.offset_mm[1] + stands.best_shift_mm[1]), unit),
];

function Map({ kit, stands }: { kit: KitOfSetup; stands: PlaceOnTable }): ReactNode {
  const [x0, y0] = stands.offset_mm;
  const table = kit.bodies.find((body) => body.role === "table");
  if (table === undefined) return null;
  const field: Field = {
    left: x0 + stands.x.low.shift_mm,
    right: x0 + stands.x.high.shift_mm,
    front: y0 + stands.y.low.shift_mm,
    back: y0 + stands.y.high.shift_mm,
  };
  const low = [Math.min(table.min[0] + x0, field.left), Math.min(table.min[1] + y0, field.front)] as const;
  const high = [Math.max(table.max[0] + x0, field.right), Math.max(table.max[1] + y0, field.back)] as const;
  const scale = (WIDTH - 2 * MARGIN) / Math.max(high[0] - low[0], 1);
  const tall = (high[1] - low[1]) * scale + 2 * MARGIN;
  const x = (value: number): number => MARGIN + (value - low[0]) * scale;
  const y = (value: number): number => MARGIN + (high[1] - value) * scale;
  const rect = (a: readonly number[], b: readonly number[]): { x: number; y: number; width: number; height: number } => ({
    x: x(a[0] ?? 0),
    y: y(b[1] ?? 0),
    width: Math.max(((b[0] ?? 0) - (a[0] ?? 0)) * scale, 0.5),
    height: Math.max(((b[1] ?? 0) - (a[1] ?? 0)) * scale, 0.5),
  });
  const moved = (corner: readonly number[]): [number, number] => [(corner[0] ?? 0) + x0, (corner[1] ?? 0) + y0];
  const cross = (at: readonly [number, number], size: number): string => `M${x(at[0]) - size} ${y(at[1])}h${2 * size}M${x(at[0])} ${y(at[1]) - size}v${2 * size}`;
  const middle = [x0 + stands.best_shift_mm[0], y0 + stands.best_shift_mm[1]] as const;
  return (
    <svg className="outline standing" viewBox={`0 0 ${WIDTH} ${tall.toFixed(0)}`} width={WIDTH} height={tall} role="img" aria-label={words.kit.mayStand}>
      <rect className="table" {...rect(moved(table.min), moved(table.max))} />
      {kit.bodies
        .filter((body) => body.role !== "table")
        .map((body) => (
          <rect key={body.name} className="held" {...rect(moved(body.min), moved(body.max))}>
            <title>{body.name}</title>
          </rect>
        ))}
      <rect className="part" {...rect(moved(kit.blank.min), moved(kit.blank.max))} />
      {stands.room && <rect className="room" {...rect([field.left, field.front], [field.right, field.back])} />}
      <path className="centre-line strong" d={cross([x0, y0], 9)} />
      {stands.room && <circle className="best" cx={x(middle[0])} cy={y(middle[1])} r={7} />}
      {stands.room && (
        <>
          <Mark at={[x(field.left) + 4, y((field.front + field.back) / 2)]} text={mark(stands.x.low)} />
          <Mark at={[x(field.right) - 4, y((field.front + field.back) / 2)]} text={mark(stands.x.high)} end />
          <Mark at={[x((field.left + field.right) / 2), y(field.front) - 5]} text={mark(stands.y.low)} middle />
          <Mark at={[x((field.left + field.right) / 2), y(field.back) + 15]} text={mark(stands.y.high)} middle />
        </>
      )}
    </svg>
  );
}

const mark = (border: BorderSaid): string => (border.why === "table" ? words.kit.edgeShort : words.kit.travelShort(border.tool, border.line));

function Mark({ at, text, end = false, middle = false }: { at: [number, number]; text: string; end?: boolean; middle?: boolean }): ReactNode {
  return (
    <text x={at[0]} y={at[1]} textAnchor={middle ? "middle" : end ? "end" : "start"}>
      {text}
    </text>
  );
}

function Borders({ stands, unit }: { stands: PlaceOnTable; unit: LengthUnit }): ReactNode {
  const rows = (["x", "y", "z"] as const).flatMap((axis) =>
    (["low", "high"] as const).map((end) => ({ axis, end, border: stands[axis][end] })),
  );
  return (
    <table className="ruled">
      <caption className="unseen">{words.kit.mayStand}</caption>
      <tbody>
        {rows.map(({ axis, end, border }) => {
          const room = end === "high" ? border.shift_mm : -border.shift_mm;
          const at = `${axis.toUpperCase()} ${length(mm(border.limit_mm), unit)}`;
          const reason = border.why === "table" ? words.kit.edgeReason(at) : words.kit.travelReason(border.tool, at, border.file, border.line);
          return (
            <tr key={axis + end}>
              <th scope="row">{words.kit.way[axis][end]}</th>
              <td className="mono">{length(mm(room), unit)}</td>
              <td>{room < 0 ? words.kit.shortOfIt(reason) : reason}</td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}
