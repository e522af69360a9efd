import { type MouseEvent, type ReactNode, useEffect, useMemo, useRef } from "react";

import { useSession } from "../data/session";
import { type ThemeColours, useThemeColours } from "../data/theme";
import { length, mm } from "../units/units";
import { words } from "../words";
import { type Box, boxOf, type Path, pointsOf, RAPID, rowsOfLine, thinning } from "./path";
import { useWidth } from "./width";

interface Props {
  path: Path;
  file: string;
  line: number;
  onChoose: (file: string, line: number) => void;
}

type View = readonly [across: 0 | 1 | 2, up: 0 | 1 | 2];
const VIEWS: ReadonlyArray<{ axes: View; name: string }> = [
  { axes: [0, 1], name: words.read.above },
  { axes: [0, 2], name: words.read.front },
];
const MARGIN = 24;
const REACH_PX = 16;

/** The path from above and from the front: feed solid, rapid dotted, the chosen line heavy. A click chooses the line nearest to it. */
export function PathPicture({ path, file, line, onChoose }: Props): ReactNode {
  const box = useMemo(() => boxOf(path), [path]);
  const { unit } = useSession();
  if (box === undefined) return <p>{words.read.nothingMoves}</p>;
  const size = [0, 1, 2].map((axis) => length(mm((box.high[axis] ?? 0) - (box.low[axis] ?? 0)), unit, 1));
  return (
    <figure className="path-picture">
      {VIEWS.map((view) => (
        <PathView key={view.name} {...view} path={path} box={box} file={file} line={line} onChoose={onChoose} />
      ))}
      <figcaption>
        {words.read.picture(size[0] ?? "", size[1] ?? "", size[2] ?? "")}
        {thinning(path.rows) > 1 && ` ${words.read.thinned(thinning(path.rows))}`}
      </figcaption>
    </figure>
  );
}

interface ViewProps extends Props {
  axes: View;
  name: string;
  box: Box;
}

interface Scale {
  x: (value: number) => number;
  y: (value: number) => number;
}

function scaleOf(box: Box, [across, up]: View, width: number, height: number): Scale {
  const wide = Math.max(box.high[across] - box.low[across], 1e-6);
  const high = Math.max(box.high[up] - box.low[up], 1e-6);
  const per = Math.min((width - 2 * MARGIN) / wide, (height - 2 * MARGIN) / high);
  const left = (width - per * wide) / 2;
  const top = (height - per * high) / 2;
  return { x: (value) => left + (value - box.low[across]) * per, y: (value) => top + (box.high[up] - value) * per };
}

function PathView({ axes, name, path, box, file, line, onChoose }: ViewProps): ReactNode {
  const canvas = useRef<HTMLCanvasElement>(null);
  const [holder, width] = useWidth<HTMLDivElement>();
  const theme = useThemeColours();
  const wide = Math.max(box.high[axes[0]] - box.low[axes[0]], 1);
  const tall = Math.max(box.high[axes[1]] - box.low[axes[1]], 1);
  const height = Math.round(Math.min(Math.max((width - 2 * MARGIN) * (tall / wide), 60), 420) + 2 * MARGIN);
  const whole = useMemo(() => (width === 0 ? undefined : drawn({ width, height, axes, path, box }, theme)), [width, height, axes, path, box, theme]);
  useEffect(() => {
    const element = canvas.current;
    if (element === null || whole === undefined) return;
    drawLine(element, whole, { width, height, axes, path, box }, [file, line], theme);
  }, [whole, width, height, axes, path, box, file, line, theme]);
  const choose = (event: MouseEvent<HTMLCanvasElement>): void => {
    const bounds = event.currentTarget.getBoundingClientRect();
    const row = nearest(path, axes, scaleOf(box, axes, width, height), event.clientX - bounds.left, event.clientY - bounds.top);
    if (row !== undefined) onChoose(path.files[path.file[row] ?? 0] ?? "", path.line[row] ?? 1);
  };
  return (
    <div ref={holder}>
      <p className="faint">{name}</p>
      <canvas ref={canvas} role="img" aria-label={name} style={{ width: "100%", height }} onClick={choose} />
    </div>
  );
}

interface Drawing extends Pick<ViewProps, "axes" | "path" | "box"> {
  width: number;
  height: number;
}

const AT_ONCE = 500; // rows of one stroke: what draws by processor takes many short strokes better than a long one

/** The whole path, drawn once; by the processor, which is quicker at it than a graphics card that is only played by one. */
function drawn({ width, height, axes, path, box }: Drawing, theme: ThemeColours): OffscreenCanvas | undefined {
  const ratio = window.devicePixelRatio || 1;
  const picture = new OffscreenCanvas(Math.round(width * ratio), Math.round(height * ratio));
  const pen = picture.getContext("2d", { willReadFrequently: true });
  if (pen === null) return undefined;
  pen.scale(ratio, ratio);
  const scale = scaleOf(box, axes, width, height);
  pen.lineJoin = "round";
  pen.strokeStyle = theme.ink;
  pen.lineWidth = 1.1;
  const step = thinning(path.rows);
  for (const rapid of [true, false]) {
    pen.globalAlpha = rapid ? 0.7 : 0.85;
    pen.setLineDash(rapid ? [1.5, 4] : []);
    let held = 0;
    pen.beginPath();
    for (let row = 0; row < path.rows; row += step) {
      if (!path.own(row) || (path.kind[row] === RAPID) !== rapid) continue;
      trace(pen, path, row, axes, scale);
      if (++held % AT_ONCE > 0) continue;
      pen.stroke();
      pen.beginPath();
    }
    pen.stroke();
  }
  return picture;
}

/** The whole path, and over it the rows of the chosen line. */
function drawLine(canvas: HTMLCanvasElement, whole: OffscreenCanvas, { width, height, axes, path, box }: Drawing, [file, line]: [string, number], theme: ThemeColours): void {
  canvas.width = whole.width;
  canvas.height = whole.height;
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  if (pen === null) return;
  pen.drawImage(whole, 0, 0);
  const ratio = window.devicePixelRatio || 1;
  pen.scale(ratio, ratio);
  const scale = scaleOf(box, axes, width, height);
  pen.lineJoin = "round";
  pen.strokeStyle = theme.focus;
  pen.lineWidth = 4;
  for (const row of rowsOfLine(path, file, line)) {
    pen.setLineDash(path.kind[row] === RAPID ? [2, 6] : []);
    pen.beginPath();
    if (path.own(row)) trace(pen, path, row, axes, scale);
    pen.stroke();
  }
}

function trace(pen: CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D, path: Path, row: number, [across, up]: View, scale: Scale): void {
  for (const [index, point] of pointsOf(path, row).entries()) {
    if (index === 0) pen.moveTo(scale.x(point[across]), scale.y(point[up]));
    else pen.lineTo(scale.x(point[across]), scale.y(point[up]));
  }
}

/** The row nearest to a place in the picture; a cutting one before a rapid one at the same distance. */
function nearest(path: Path, [across, up]: View, scale: Scale, x: number, y: number): number | undefined {
  let best: number | undefined;
  let least = REACH_PX;
  for (let row = 0; row < path.rows; row++) {
    if (!path.own(row)) continue;
    const points = pointsOf(path, row);
    for (let index = 1; index < points.length; index++) {
      const from = points[index - 1];
      const to = points[index];
      if (from === undefined || to === undefined) continue;
      const away = distance(x, y, scale.x(from[across]), scale.y(from[up]), scale.x(to[across]), scale.y(to[up]));
      const weighed = away + (path.kind[row] === RAPID ? 2 : 0);
      if (weighed < least) {
        least = weighed;
        best = row;
      }
    }
  }
  return best;
}

function distance(x: number, y: number, x0: number, y0: number, x1: number, y1: number): number {
  const dx = x1 - x0;
  const dy = y1 - y0;
  const along = dx * dx + dy * dy;
  const share = along === 0 ? 0 : Math.min(1, Math.max(0, ((x - x0) * dx + (y - y0) * dy) / along));
  return Math.hypot(x - x0 - share * dx, y - y0 - share * dy);
}
