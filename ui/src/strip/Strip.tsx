// The strip: time from left to right, drag to go to a moment, arrow keys to step a block.

import { type KeyboardEvent, type PointerEvent, type ReactNode, useEffect, useMemo, useRef, useState } from "react";

import type { Finding } from "../data/findings";
import { useThemeColours } from "../data/theme";
import { useSession } from "../data/session";
import { duration, feed, kilowatts, length, mm, mm3PerMin, mmPerMin, power, removalRate, seconds } from "../units/units";
import { words } from "../words";
import {
  type Course,
  greatest,
  known,
  lanesOf,
  lineOf,
  type Moment,
  momentAt,
  momentOfLine,
  stepBlock,
  stepTool,
  timeOf,
  toolsOf,
} from "./course";
import { drawMoment, drawStrip, EDGE, GUTTER, heightOf, type Mark, timeAt, xOf } from "./draw";

interface Props {
  course: Course;
  findings: readonly Finding[];
  moment: Moment;
  onMoment: (moment: Moment) => void;
}

const CLEARANCE_SHOWN_MM = 20;
const CLOSER = 2;

export function Strip({ course, findings, moment, onMoment }: Props): ReactNode {
  const canvas = useRef<HTMLCanvasElement>(null);
  const [width, setWidth] = useState(0);
  const [span, setSpan] = useState<[from: number, to: number]>([0, course.total]);
  const colours = useThemeColours();
  const { unit } = useSession();
  const tools = useMemo(() => toolsOf(course), [course]);
  const most = useMemo(() => ({ ...greatest(course), clearance: CLEARANCE_SHOWN_MM }), [course]);
  const height = heightOf(most.power);
  const marks = useMemo(() => marksOf(course, findings), [course, findings]);
  const [from, to] = span;
  const at = timeOf(course, moment);
  useEffect(() => setSpan([0, course.total]), [course]);
  useEffect(() => {
    const element = canvas.current?.parentElement;
    if (!element) return undefined;
    const observer = new ResizeObserver(() => setWidth(Math.max(element.clientWidth, GUTTER + EDGE + 50)));
    observer.observe(element);
    return () => observer.disconnect();
  }, []);
  const drawing = useMemo(() => {
    if (width === 0) return undefined;
    const ratio = window.devicePixelRatio || 1;
    const picture = new OffscreenCanvas(Math.round(width * ratio), Math.round(height * ratio));
    const pen = picture.getContext("2d");
    if (pen === null) return undefined;
    pen.scale(ratio, ratio);
    const labels = words.strip.lane;
    const upTo = {
      feed: words.strip.upTo(feed(mmPerMin(most.feed), unit)),
      rate: words.strip.upTo(removalRate(mm3PerMin(most.rate), unit)),
      power: words.strip.upTo(power(kilowatts(most.power))),
      clearance: words.strip.upTo(length(mm(most.clearance), unit, 0)),
    };
    const time = (value: number): string => (course.timed ? duration(seconds(value)) : words.strip.motion(value));
    const lanes = lanesOf(course, from, to, Math.max(1, Math.floor(width - GUTTER - EDGE)));
    drawStrip(pen as unknown as CanvasRenderingContext2D, width, { course, lanes, tools, marks, from, to, most, labels, upTo, time }, colours);
    return picture;
  }, [course, tools, marks, most, height, from, to, width, colours, unit]);
  useEffect(() => {
    const element = canvas.current;
    if (element === null || drawing === undefined) return;
    element.width = drawing.width;
    element.height = drawing.height;
    const pen = element.getContext("2d");
    if (pen === null) return;
    pen.drawImage(drawing, 0, 0);
    const ratio = drawing.width / width;
    pen.scale(ratio, ratio);
    if (at >= from && at <= to) drawMoment(pen, xOf(at, from, to, width), height, colours);
  }, [drawing, at, from, to, width, height, colours]);

  const go = (next: Moment): void => {
    onMoment(next);
    const time = timeOf(course, next);
    if (time < from || time > to) setSpan(around(course, time, to - from));
  };
  const keys = (event: KeyboardEvent): void => {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const next = keyed(course, moment, event.key);
    if (next !== undefined) go(next);
    else if (event.key === "+" || event.key === "=") setSpan(around(course, at, (to - from) / CLOSER));
    else if (event.key === "-") setSpan(around(course, at, (to - from) * CLOSER));
    else return;
    event.preventDefault();
  };
  const drag = (event: PointerEvent<HTMLCanvasElement>): void => {
    if (event.type === "pointerdown") event.currentTarget.setPointerCapture(event.pointerId);
    else if (event.buttons === 0) return;
    const bounds = event.currentTarget.getBoundingClientRect();
    onMoment(momentAt(course, timeAt(event.clientX - bounds.left, from, to, width)));
  };
  const said = sayMoment(course, moment, unit);
  return (
    <div className="strip">
      <div>
        <canvas
          ref={canvas}
          role="slider"
          tabIndex={0}
          aria-label={words.strip.label}
          aria-valuemin={0}
          aria-valuemax={Math.round(course.total)}
          aria-valuenow={Math.round(at)}
          aria-valuetext={said}
          style={{ width: "100%", height }}
          onKeyDown={keys}
          onPointerDown={drag}
          onPointerMove={drag}
        />
      </div>
      <div className="strip-foot">
        <p className="strip-said">{said}</p>
        <StripButton label={words.strip.before} onPress={() => go(stepBlock(course, moment, -1))} />
        <StripButton label={words.strip.next} onPress={() => go(stepBlock(course, moment, 1))} />
        <StripButton label={words.strip.closer} onPress={() => setSpan(around(course, at, (to - from) / CLOSER))} />
        <StripButton label={words.strip.whole} onPress={() => setSpan([0, course.total])} disabled={from === 0 && to === course.total} />
      </div>
    </div>
  );
}

function StripButton({ label, onPress, disabled = false }: { label: string; onPress: () => void; disabled?: boolean }): ReactNode {
  return (
    <button type="button" className="button plain" onClick={onPress} disabled={disabled}>
      {label}
    </button>
  );
}

function keyed(course: Course, moment: Moment, key: string): Moment | undefined {
  switch (key) {
    case "ArrowRight":
    case "ArrowUp":
      return stepBlock(course, moment, 1);
    case "ArrowLeft":
    case "ArrowDown":
      return stepBlock(course, moment, -1);
    case "PageDown":
      return stepTool(course, moment, 1);
    case "PageUp":
      return stepTool(course, moment, -1);
    case "Home":
      return { motion: -1, share: 1 };
    case "End":
      return { motion: course.rows - 1, share: 1 };
    default:
      return undefined;
  }
}

/** A stretch of so much about a time, within the whole. */
export function around(course: Course, at: number, wanted: number): [number, number] {
  const span = Math.min(Math.max(wanted, course.total / 1e6), course.total);
  const from = Math.min(Math.max(at - span / 2, 0), course.total - span);
  return [from, from + span];
}

function marksOf(course: Course, findings: readonly Finding[]): Mark[] {
  const marks: Mark[] = [];
  for (const one of findings) {
    const moment = one.motion >= 0 ? { motion: one.motion, share: 1 } : momentOfLine(course, one.file, one.line);
    if (moment !== undefined && one.file !== "" && course.files.includes(one.file)) marks.push({ at: timeOf(course, moment), signal: one.signal });
  }
  const rank = { NOTICE: 0, CAUTION: 1, WARNING: 2, DANGER: 3 };
  return marks.sort((a, b) => rank[a.signal] - rank[b.signal]);
}

/** The moment in words: the text that stands for the picture. */
export function sayMoment(course: Course, moment: Moment, unit: "mm" | "inch"): string {
  if (moment.motion < 0) return words.strip.start;
  const row = Math.min(moment.motion, course.rows - 1);
  const place = lineOf(course, moment);
  const when = course.timed ? duration(seconds(timeOf(course, moment))) : words.strip.motion(row + 1);
  const clearance = course.clearance[row] ?? Infinity;
  const clears = clearance < course.clearanceWithin ? length(mm(clearance), unit, 1) : words.strip.beyond(length(mm(course.clearanceWithin), unit, 0));
  const near = clearance > 0 ? words.strip.clears(clears) : words.strip.meets;
  const how = course.kind[row] === 0 ? words.strip.rapid : feed(mmPerMin(course.feed[row] ?? 0), unit);
  const takes = known(course.power[row]) > 0 ? words.strip.takes(power(kilowatts(known(course.power[row])))) : "";
  return words.strip.said(when, place === undefined ? "" : words.common.line(place.file, place.line), course.tool[row] ?? 0, how, removalRate(mm3PerMin(course.rate[row] ?? 0), unit) + takes, near);
}
