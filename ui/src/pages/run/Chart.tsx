// One feature over the pieces, to be read at arm's length: values, limits, control limits, what is to be expected of the next pieces, the
// piece to measure next, and the one that may be outside.

import type { ReactNode } from "react";

import { useWidth } from "../../drawing/width";
import { decimals } from "../../units/units";
import type { FeaturePicture, SeriesSaid } from "../../wire/api.gen";
import { words } from "../../words";

const said = words.run;
const HIGH = 250;
const TOP = 26;
const FOOT = 30;
const LEFT = 84;
const RIGHT = 14;
const LEAST_TICK = 44;
const ROOM = 0.12;

interface View {
  width: number;
  x: (piece: number) => number;
  y: (value: number) => number;
  first: number;
  last: number;
}

function viewOf(picture: FeaturePicture, width: number): View {
  const first = picture.numbers[0] ?? 1;
  const end = Math.max(picture.due, picture.gone ?? 0, (picture.numbers.at(-1) ?? first) + 1) + 1;
  const ahead = picture.ahead.filter((one) => one.piece <= end);
  const last = Math.max(...ahead.map((one) => one.piece), first + 1);
  const values = [...picture.values, ...(picture.limits ?? []), ...ahead.flatMap((one) => [one.level]), picture.control?.lower, picture.control?.upper];
  const known = values.filter((one): one is number => one !== undefined);
  const low = Math.min(...known);
  const high = Math.max(...known);
  const room = Math.max((high - low) * ROOM, 1e-9);
  return {
    width,
    first,
    last,
    x: (piece) => LEFT + ((piece - first + 0.5) / (last - first + 1)) * (width - LEFT - RIGHT),
    y: (value) => TOP + ((high + room - value) / (high - low + 2 * room)) * (HIGH - TOP - FOOT),
  };
}

export function Chart({ series, unit }: { series: SeriesSaid; unit: string }): ReactNode {
  const [holder, width] = useWidth<HTMLElement>();
  const { picture } = series;
  return (
    <figure className="run-chart" ref={holder}>
      {width > 0 && <Drawn series={series} picture={picture} view={viewOf(picture, width)} places={unit === "in" && series.unit !== "deg" ? 4 : 3} />}
    </figure>
  );
}

interface DrawnProps {
  series: SeriesSaid;
  picture: FeaturePicture;
  view: View;
  places: number;
}

function Drawn({ series, picture, view, places }: DrawnProps): ReactNode {
  const { x, y, width } = view;
  const { control, limits } = picture;
  const across = `H${width - RIGHT}`;
  const points = picture.numbers.map((piece, at) => `${x(piece).toFixed(1)} ${y(picture.values[at] ?? 0).toFixed(1)}`);
  const last = picture.numbers.at(-1) ?? 0;
  const ahead = picture.ahead.filter((one) => one.piece <= view.last);
  return (
    <svg viewBox={`0 0 ${width} ${HIGH}`} width={width} height={HIGH} role="img" aria-label={said.chart(series.feature, series.said.stands, series.said.limits, series.said.left, series.said.due)}>
      {limits !== null && <rect className="inside" x={LEFT} y={y(limits[1])} width={width - LEFT - RIGHT} height={Math.max(y(limits[0]) - y(limits[1]), 0)} />}
      <Forecast picture={picture} ahead={ahead} view={view} />
      {control !== null && <path className="control" d={[control.lower, control.upper].map((one) => `M${LEFT} ${y(one)}${across}`).join("")} />}
      {control !== null && <path className="middle" d={`M${LEFT} ${y(control.centre)}${across}`} />}
      {limits?.map((one) => (
        <g key={one}>
          <path className="limit" d={`M${LEFT} ${y(one)}${across}`} />
          <text x={LEFT - 8} y={y(one) + 5} textAnchor="end">
            {decimals(one, places)}
          </text>
        </g>
      ))}
      <path className="due" d={`M${x(picture.due)} ${TOP}V${HIGH - FOOT}`} />
      <Flag view={view} piece={picture.due} text={said.dueFlag} />
      {picture.gone !== null && picture.gone <= view.last && <path className="gone" d={cross(x(picture.gone), nearest(picture, ahead, y))} />}
      <path className="values" d={`M${points.join("L")}`} />
      {picture.numbers.map((piece, at) => (
        <circle key={piece} className={piece === last ? "value last" : "value"} cx={x(piece)} cy={y(picture.values[at] ?? 0)} r={piece === last ? 7 : 5} />
      ))}
      {ticks(view).map((piece) => (
        <text key={piece} x={x(piece)} y={HIGH - 8} textAnchor="middle">
          {piece}
        </text>
      ))}
    </svg>
  );
}

/** What is to be expected: the level as a dashed line in the band in which nineteen of twenty pieces fall. */
function Forecast({ picture, ahead, view }: { picture: FeaturePicture; ahead: FeaturePicture["ahead"]; view: View }): ReactNode {
  const [one] = ahead;
  if (one === undefined) return null;
  const { x, y } = view;
  const edge = (sign: number): string[] => ahead.map((each) => `${x(each.piece).toFixed(1)} ${bounded(y(each.level + sign * each.spread)).toFixed(1)}`);
  const last = picture.numbers.at(-1) ?? 0;
  const level = ahead.map((each) => `${x(each.piece).toFixed(1)} ${y(each.level).toFixed(1)}`);
  const start = `${x(last).toFixed(1)} ${y(picture.values.at(-1) ?? 0).toFixed(1)}`;
  return (
    <>
      <path className="band" d={`M${edge(1).join("L")}L${edge(-1).reverse().join("L")}Z`} />
      <path className="ahead" d={`M${start}L${level.join("L")}`} />
    </>
  );
}

const bounded = (y: number): number => Math.min(Math.max(y, TOP - 8), HIGH - FOOT + 6);

/** The height at which the piece that may be outside is marked: the limit it is nearest to. */
function nearest(picture: FeaturePicture, ahead: FeaturePicture["ahead"], y: (value: number) => number): number {
  const level = ahead.find((one) => one.piece === picture.gone)?.level ?? picture.values.at(-1) ?? 0;
  const [low, high] = picture.limits ?? [level, level];
  return y(Math.abs(level - low) < Math.abs(high - level) ? low : high);
}

const cross = (x: number, y: number): string => `M${x - 8} ${y - 8}l16 16m0 -16l-16 16`;

/** What stands over a piece, kept inside the drawing. */
function Flag({ view, piece, text }: { view: View; piece: number; text: string }): ReactNode {
  const at = view.x(piece);
  const right = at > view.width / 2;
  return (
    <text className="flag" x={right ? at + 4 : at - 4} y={TOP - 9} textAnchor={right ? "end" : "start"}>
      {text}
    </text>
  );
}

/** The pieces that have their number under them: as many as there is room for. */
function ticks({ first, last, x }: View): number[] {
  const each = x(first + 1) - x(first);
  const step = [1, 2, 5, 10, 20, 50, 100, 200, 500].find((one) => one * each >= LEAST_TICK) ?? 1000;
  return Array.from({ length: last - first + 1 }, (_, at) => first + at).filter(
    (piece) => piece === first || (piece % step === 0 && (piece - first) * each >= LEAST_TICK),
  );
}
