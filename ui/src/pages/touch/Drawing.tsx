// The touch-off from above: blank, holding, faces, and each contact as a dot where it is on the part, with the way it was made.

import type { ReactNode } from "react";

import { mm } from "../../units/units";
import type { ContactDot, Picture } from "../../wire/api.gen";
import { words } from "../../words";

const WIDE = 620;
const MARGIN = 34;
const ARROW = 16;

interface Props {
  picture: Picture;
  chosen: number | undefined;
  onChoose: (number: number) => void;
}

/** Millimetres to the drawing, Y upwards. */
interface View {
  x: (value: number) => number;
  y: (value: number) => number;
  scale: number;
  height: number;
}

function viewOf(picture: Picture): View {
  const low = picture.blank.min;
  const high = picture.blank.max;
  const held = picture.bodies.filter((body) => body.role !== "table");
  const reach = 25;
  const left = Math.max(Math.min(low[0], 0, ...held.map((body) => body.min[0])), low[0] - reach);
  const right = Math.min(Math.max(high[0], 0, ...held.map((body) => body.max[0])), high[0] + reach);
  const front = Math.max(Math.min(low[1], 0, ...held.map((body) => body.min[1])), low[1] - reach);
  const back = Math.min(Math.max(high[1], 0, ...held.map((body) => body.max[1])), high[1] + reach);
  const scale = (WIDE - 2 * MARGIN) / Math.max(right - left, 1);
  return {
    scale,
    x: (value) => MARGIN + (mm(value) - left) * scale,
    y: (value) => MARGIN + (back - mm(value)) * scale,
    height: Math.max(back - front, 1) * scale + 2 * MARGIN,
  };
}

export function Drawing({ picture, chosen, onChoose }: Props): ReactNode {
  const view = viewOf(picture);
  const odd = picture.contacts.filter((one) => one.odd !== "").length;
  const said = words.touch.pictureSaid(picture.contacts.length, odd);
  const { min, max } = picture.blank;
  return (
    <figure className="touch-drawing">
      <svg viewBox={`0 0 ${WIDE} ${view.height.toFixed(0)}`} role="group" aria-label={words.touch.picture}>
        <g aria-hidden="true">
          {picture.bodies
            .filter((body) => body.role !== "table")
            .map((body) => (
              <rect key={body.name} className="held" {...rect(view, body.min, body.max)} />
            ))}
          <rect className="blank" {...rect(view, min, max)} />
          {picture.faces
            .filter((face) => face.diameter_mm !== null && !face.made)
            .map((face) => (
              <circle
                key={face.name}
                className="bore"
                cx={view.x(face.at[0])}
                cy={view.y(face.at[1])}
                r={(view.scale * (face.diameter_mm ?? 0)) / 2}
              />
            ))}
          <path className="zero" d={`M${view.x(0) - 12} ${view.y(0)}h24M${view.x(0)} ${view.y(0) - 12}v24`} />
          <path className="axes" d={`M${MARGIN / 2} ${view.height - 12}h34m-7 -4l7 4l-7 4M${MARGIN / 2} ${view.height - 12}v-34m-4 7l4 -7l4 7`} />
          <text x={MARGIN / 2 + 38} y={view.height - 8}>
            X
          </text>
          <text x={MARGIN / 2 - 5} y={view.height - 50}>
            Y
          </text>
        </g>
        {picture.contacts.map((one) => (
          <Dot key={one.number} contact={one} above={picture.contacts.filter((other) => other.number < one.number && near(other, one)).length} view={view} chosen={one.number === chosen} onChoose={() => onChoose(one.number)} />
        ))}
      </svg>
      <figcaption className="faint">{said}</figcaption>
    </figure>
  );
}

function rect(view: View, low: readonly number[], high: readonly number[]): { x: number; y: number; width: number; height: number } {
  const x = view.x(low[0] ?? 0);
  const y = view.y(high[1] ?? 0);
  return { x, y, width: view.x(high[0] ?? 0) - x, height: view.y(low[1] ?? 0) - y };
}

const NEAR_MM = 4;

/** Whether two contacts lie so near to each other that their numbers would stand on one another. */
const near = (a: ContactDot, b: ContactDot): boolean => Math.hypot(a.at[0] - b.at[0], a.at[1] - b.at[1]) < NEAR_MM;

interface DotProps {
  contact: ContactDot;
  /** How many earlier ones lie at the same place: the number stands as many lines lower. */
  above: number;
  view: View;
  chosen: boolean;
  onChoose: () => void;
}

/** A contact: a ring seen from above for a touch downwards, else a dot with the arrow along which the instrument came. */
function Dot({ contact, above, view, chosen, onChoose }: DotProps): ReactNode {
  const x = view.x(contact.at[0]);
  const y = view.y(contact.at[1]);
  const [dx, dy, dz] = contact.toward;
  const said = `${contact.number}: ${contact.on}, ${contact.shown}${contact.odd === "" ? "" : `. ${contact.odd}`}`;
  return (
    <g
      className={`dot${chosen ? " chosen" : ""}${contact.odd === "" ? "" : " odd"}`}
      role="button"
      tabIndex={0}
      aria-label={said}
      aria-pressed={chosen}
      onClick={onChoose}
      onKeyDown={(event) => {
        if (event.key === "Enter" || event.key === " ") {
          event.preventDefault();
          onChoose();
        }
      }}
    >
      <title>{said}</title>
      <circle className="dot-target" cx={x} cy={y} r="22" />
      {(dx !== 0 || dy !== 0) && (
        <path className="dot-way" d={`M${x - dx * ARROW} ${y + dy * ARROW}L${x - dx * 6} ${y + dy * 6}`} />
      )}
      {contact.odd !== "" ? (
        <path className="dot-mark" d={`M${x} ${y - 8}l8 14h-16z`} />
      ) : (
        <circle className={dz !== 0 ? "dot-mark ring" : "dot-mark"} cx={x} cy={y} r="5" />
      )}
      <text x={x + 9} y={y - 8 + 22 * above}>
        {contact.number}
      </text>
    </g>
  );
}
