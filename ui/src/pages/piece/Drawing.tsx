// The part from above with what is measured at its place: a number in the order of the list, its name and the value of the piece.

import type { ReactNode } from "react";

import { useWidth } from "../../drawing/width";
import { type Measurable, placesOf, writtenOf } from "../../measure/values";
import type { FaceDrawn, JudgedSaid, PieceOfSetup, Picture } from "../../wire/api.gen";
import { words } from "../../words";

const said = words.piece;
const MARGIN = 14;
const ROW = 46;
const WIDE = 700;
const COLUMN = 250;
const COLUMN_NARROW = 60;
const BESIDE = 7;

type Decision = JudgedSaid["decision"];

interface View {
  x: (value: number) => number;
  y: (value: number) => number;
  scale: number;
  width: number;
  height: number;
  column: number;
}

function viewOf(picture: Picture, copies: readonly (readonly number[])[], width: number, rows: number): View {
  const { min, max } = picture.blank;
  const shifts = [[0, 0], ...copies];
  const left = Math.min(...shifts.map((one) => min[0] + (one[0] ?? 0)));
  const right = Math.max(...shifts.map((one) => max[0] + (one[0] ?? 0)));
  const front = Math.min(...shifts.map((one) => min[1] + (one[1] ?? 0)));
  const back = Math.max(...shifts.map((one) => max[1] + (one[1] ?? 0)));
  const column = width < WIDE ? COLUMN_NARROW : COLUMN;
  const room = width - 2 * (column + MARGIN);
  const scale = room / Math.max(right - left, 1);
  const height = Math.max((back - front) * scale + 2 * MARGIN, rows * ROW + 2 * MARGIN);
  const above = (height - (back - front) * scale) / 2;
  return {
    scale,
    width,
    height,
    column,
    x: (value) => column + MARGIN + (value - left) * scale,
    y: (value) => above + (back - value) * scale,
  };
}

/** A place to measure, where it is drawn, what was measured there and what that proves. */
interface Label {
  place: Measurable;
  x: number;
  y: number;
  text: string;
  decision: Decision | undefined;
}

export function Drawing({ of, piece }: { of: PieceOfSetup; piece: string }): ReactNode {
  const [holder, width] = useWidth<HTMLElement>();
  const places = placesOf(of.plan);
  const rows = Math.ceil(places.length / 2);
  return (
    <figure className="part-drawing" ref={holder}>
      {width > 0 && <Drawn of={of} piece={piece} places={places} view={viewOf(of.picture, of.copies, width, rows)} />}
      <figcaption className="faint">{said.pictureSaid(piece)}</figcaption>
    </figure>
  );
}

function Drawn({ of, piece, places, view }: { of: PieceOfSetup; piece: string; places: readonly Measurable[]; view: View }): ReactNode {
  const faces = new Map(of.picture.faces.map((one) => [one.name, one]));
  const held = writtenOf(of.lines, piece);
  const judged = new Map((of.told?.judged ?? []).filter((one) => one.piece === piece).map((one) => [one.feature, one.decision]));
  const labels = places.map((place): Label => {
    const [x, y] = placeOf(place, faces, view);
    const text = place.rows.map((row) => held.get(row.feature)?.said ?? "–");
    const shown = text.every((one) => one === "–") ? "–" : text.join("  ");
    return { place, x, y, text: shown, decision: judged.get(place.name) };
  });
  const measured = labels.filter((one) => one.text !== "–").length;
  const made = of.picture.faces.filter((one) => !one.held);
  return (
    <svg viewBox={`0 0 ${view.width} ${view.height.toFixed(0)}`} width={view.width} height={view.height} role="img" aria-label={said.pictureLabel(measured, labels.length, piece)}>
      {[[0, 0], ...of.copies].map((shift) => (
        <Part key={shift.join(" ")} picture={of.picture} faces={made} shift={shift} view={view} />
      ))}
      <path className="zero" d={`M${view.x(0) - 10} ${view.y(0)}h20M${view.x(0)} ${view.y(0) - 10}v20`} />
      {sided(labels, view).map(({ label, left, level }) => (
        <Callout key={label.place.key} label={label} left={left} level={level} view={view} />
      ))}
    </svg>
  );
}

/** Half of the labels on either side, each as high as its place as far as there is room. */
function sided(labels: readonly Label[], view: View): Array<{ label: Label; left: boolean; level: number }> {
  const across = [...labels].sort((a, b) => a.x - b.x || a.y - b.y);
  const half = Math.ceil(across.length / 2);
  return [across.slice(0, half), across.slice(half)].flatMap((side, index) => {
    const down = [...side].sort((a, b) => a.y - b.y || (a.place.numbers[0] ?? 0) - (b.place.numbers[0] ?? 0));
    const each = (view.height - 2 * MARGIN) / Math.max(down.length, 1);
    return down.map((label, place) => ({ label, left: index === 0, level: MARGIN + (place + 0.5) * each }));
  });
}

/** Where a place lies on the drawing: a bore at its edge, a centre in its middle, a size between two faces half-way. */
function placeOf(place: Measurable, faces: ReadonlyMap<string, FaceDrawn>, view: View): [x: number, y: number] {
  const row = place.rows[0];
  const [dx = 0, dy = 0] = row?.shift ?? [];
  const on = (row?.faces ?? []).flatMap((name) => faces.get(name) ?? []);
  const round = on.find((one) => one.diameter_mm !== null);
  if (round !== undefined && on.length === 1) {
    const edge = row?.axis === "" ? (round.diameter_mm ?? 0) / 2 : 0;
    return [view.x(round.at[0] + dx + edge * Math.SQRT1_2), view.y(round.at[1] + dy + edge * Math.SQRT1_2)];
  }
  const least = [...on].sort((a, b) => sizeOf(a) - sizeOf(b))[0];
  if (least === undefined) return [view.x(dx), view.y(dy)];
  if ((least.facing?.[2] ?? 0) !== 0) return [view.x(least.at[0] + dx) - BESIDE, view.y(least.at[1] + dy) + BESIDE];
  const mean = (axis: 0 | 1): number => on.reduce((sum, one) => sum + one.at[axis], 0) / on.length;
  return [view.x(mean(0) + dx), view.y(mean(1) + dy)];
}

const sizeOf = (face: FaceDrawn): number => (face.half === null ? 0 : Math.hypot(...face.half));

function Part({ picture, faces, shift, view }: { picture: Picture; faces: readonly FaceDrawn[]; shift: readonly number[]; view: View }): ReactNode {
  const [dx = 0, dy = 0] = shift;
  const { min, max } = picture.blank;
  const box = (low: readonly number[], high: readonly number[]): { x: number; y: number; width: number; height: number } => ({
    x: view.x((low[0] ?? 0) + dx),
    y: view.y((high[1] ?? 0) + dy),
    width: Math.max(((high[0] ?? 0) - (low[0] ?? 0)) * view.scale, 0.5),
    height: Math.max(((high[1] ?? 0) - (low[1] ?? 0)) * view.scale, 0.5),
  });
  return (
    <g aria-hidden="true">
      <rect className="blank" {...box(min, max)} />
      {faces.map((face) => {
        if (face.diameter_mm !== null) {
          return <circle key={face.name} className={face.made ? "face made" : "face"} cx={view.x(face.at[0] + dx)} cy={view.y(face.at[1] + dy)} r={(view.scale * face.diameter_mm) / 2} />;
        }
        if (face.half === null || !face.made) return null;
        const { at, half } = face;
        return <rect key={face.name} className="face made" {...box([at[0] - half[0], at[1] - half[1]], [at[0] + half[0], at[1] + half[1]])} />;
      })}
    </g>
  );
}

const MARK: Record<Decision, string> = { accept: "✓", reject: "✗", undecided: "?", "no limits": "" };

function Callout({ label, left, level, view }: { label: Label; left: boolean; level: number; view: View }): ReactNode {
  const narrow = view.column === COLUMN_NARROW;
  const edge = left ? view.column : view.width - view.column;
  const anchor = left ? "end" : "start";
  const mark = label.decision === undefined ? "" : MARK[label.decision];
  const number = label.place.numbers.join(",");
  const wide = Math.max(30, 14 + 9 * number.length);
  const centre = left ? edge - wide / 2 : edge + wide / 2;
  const beside = left ? edge - wide - 6 : edge + wide + 6;
  return (
    <g className={label.text === "–" ? "callout open" : "callout"}>
      <path className="leader" d={`M${edge} ${level}H${left ? edge + 8 : edge - 8}L${label.x} ${label.y}`} />
      <circle className="leader-end" cx={label.x} cy={label.y} r="3" />
      <rect className="balloon" x={centre - wide / 2} y={level - 13} width={wide} height="26" rx="13" />
      <text className="balloon-number" x={centre} y={level + 5} textAnchor="middle">
        {number}
      </text>
      {narrow ? (
        <text x={centre} y={level + 27} textAnchor="middle" className={`decision ${label.decision ?? ""}`}>
          {mark}
        </text>
      ) : (
        <>
          <text x={beside} y={level - 4} textAnchor={anchor} className="callout-name">
            {label.place.name}
          </text>
          <text x={beside} y={level + 14} textAnchor={anchor} className={`callout-value ${label.decision ?? ""}`}>
            {label.text === "–" ? said.notYet : `${label.text} ${mark}`}
          </text>
        </>
      )}
    </g>
  );
}
