// The strip's picture: lanes under each other, that of the power only where one is known, marks of findings on top, a scale of time below.

import { seriesColour } from "../bench/colours";
import type { Signal } from "../data/findings";
import { type Course, type Lanes, tickStep } from "./course";

export const LANES = { marks: 26, tool: 26, feed: 44, rate: 44, power: 44, clearance: 52, scale: 24 } as const;
/** How tall the picture is; `power`: the greatest, 0 for a strip without that lane. */
export const heightOf = (power: number): number => Object.values(LANES).reduce((sum, one) => sum + one, power > 0 ? 0 : -LANES.power);
export const GUTTER = 152;
/** Free at the right, so that the end of the program, and the moment there, are not cut off. */
export const EDGE = 14;
const GAP = 4;

export interface Mark {
  at: number;
  signal: Signal;
}

export interface StripColours {
  ink: string;
  faint: string;
  hair: string;
  sheet: string;
  focus: string;
  signal: Record<Signal, { ground: string; ink: string }>;
}

type Measured = "feed" | "rate" | "power" | "clearance";

export interface Picture {
  course: Course;
  lanes: Lanes;
  tools: readonly number[];
  marks: readonly Mark[];
  from: number;
  to: number;
  most: Record<Measured, number>;
  labels: Record<"tool" | Measured, string>;
  /** What the greatest of each lane is, in words. */
  upTo: Record<Measured, string>;
  time: (at: number) => string;
}

/** Draw everything but the moment. */
export function drawStrip(pen: CanvasRenderingContext2D, width: number, picture: Picture, colours: StripColours): void {
  pen.fillStyle = colours.sheet;
  pen.fillRect(0, 0, width, heightOf(picture.most.power));
  let top: number = LANES.marks;
  drawTools(pen, top, picture, colours);
  top += LANES.tool;
  const { lanes, most, labels, upTo } = picture;
  pen.fillStyle = colours.ink;
  bars(pen, top, LANES.feed, lanes.feed, most.feed);
  dots(pen, top, lanes.rapid);
  label(pen, top, LANES.feed, labels.feed, upTo.feed, colours);
  top += LANES.feed;
  pen.fillStyle = colours.ink;
  bars(pen, top, LANES.rate, lanes.rate, most.rate);
  label(pen, top, LANES.rate, labels.rate, upTo.rate, colours);
  top += LANES.rate;
  if (most.power > 0) {
    pen.fillStyle = colours.ink;
    bars(pen, top, LANES.power, lanes.power, most.power);
    label(pen, top, LANES.power, labels.power, upTo.power, colours);
    top += LANES.power;
  }
  clearance(pen, top, lanes.clearance, most.clearance, colours);
  label(pen, top, LANES.clearance, labels.clearance, upTo.clearance, colours);
  top += LANES.clearance;
  label(pen, LANES.marks, LANES.tool, labels.tool, "", colours);
  scale(pen, top, width, picture, colours);
  for (const mark of picture.marks) drawMark(pen, xOf(mark.at, picture.from, picture.to, width), mark.signal, colours);
}

/** Where a time lies over the width. */
export function xOf(at: number, from: number, to: number, width: number): number {
  return GUTTER + ((at - from) / Math.max(to - from, Number.MIN_VALUE)) * (width - GUTTER - EDGE);
}

/** The time at a place over the width. */
export function timeAt(x: number, from: number, to: number, width: number): number {
  const wide = width - GUTTER - EDGE;
  return from + (Math.min(Math.max(x - GUTTER, 0), wide) / Math.max(wide, 1)) * (to - from);
}

/** The line of the moment, over everything. */
export function drawMoment(pen: CanvasRenderingContext2D, x: number, height: number, colours: StripColours): void {
  const foot = height - LANES.scale;
  pen.fillStyle = colours.focus;
  pen.fillRect(Math.round(x) - 1.5, 0, 3, foot);
  pen.beginPath();
  pen.moveTo(x - 8, foot);
  pen.lineTo(x + 8, foot);
  pen.lineTo(x, foot - 10);
  pen.fill();
}

function drawTools(pen: CanvasRenderingContext2D, top: number, { lanes, tools }: Picture, colours: StripColours): void {
  pen.font = "600 14px system-ui, sans-serif";
  pen.textBaseline = "middle";
  let from = 0;
  for (let pixel = 1; pixel <= lanes.tool.length; pixel++) {
    if (pixel < lanes.tool.length && lanes.tool[pixel] === lanes.tool[from]) continue;
    const tool = lanes.tool[from] ?? 0;
    if (tool !== 0) {
      pen.fillStyle = seriesColour(Math.max(tools.indexOf(tool), 0));
      pen.fillRect(GUTTER + from, top + GAP, pixel - from, LANES.tool - 2 * GAP);
      const text = `T${tool}`;
      if (pen.measureText(text).width + 10 < pixel - from) {
        const middle = GUTTER + (from + pixel) / 2 - pen.measureText(text).width / 2;
        pen.fillStyle = colours.sheet;
        pen.fillRect(middle - 3, top + GAP + 2, pen.measureText(text).width + 6, LANES.tool - 2 * GAP - 4);
        pen.fillStyle = colours.ink;
        pen.fillText(text, middle, top + LANES.tool / 2 + 1);
      }
    }
    from = pixel;
  }
}

function bars(pen: CanvasRenderingContext2D, top: number, height: number, values: Float32Array, most: number): void {
  if (most <= 0) return;
  for (let pixel = 0; pixel < values.length; pixel++) {
    const tall = (Math.min((values[pixel] ?? 0) / most, 1) * (height - 2 * GAP)) | 0;
    if (tall > 0) pen.fillRect(GUTTER + pixel, top + height - GAP - tall, 1, tall);
  }
}

/** Rapid, dotted along the top of the feed's lane. */
function dots(pen: CanvasRenderingContext2D, top: number, rapid: Uint8Array): void {
  for (let pixel = 0; pixel < rapid.length; pixel += 4) {
    if (rapid[pixel] || rapid[pixel + 1]) pen.fillRect(GUTTER + pixel, top + GAP, 2, 2);
  }
}

/** The least clearance as a line over its lane, the lower the closer; beyond the scale it runs along the top. */
function clearance(pen: CanvasRenderingContext2D, top: number, values: Float32Array, most: number, colours: StripColours): void {
  pen.strokeStyle = colours.hair;
  pen.lineWidth = 1;
  pen.strokeRect(GUTTER + 0.5, top + LANES.clearance - GAP + 0.5, values.length, 0);
  pen.strokeStyle = colours.ink;
  pen.lineWidth = 2;
  pen.beginPath();
  let open = false;
  for (let pixel = 0; pixel < values.length; pixel++) {
    const value = values[pixel] ?? Infinity;
    if (!Number.isFinite(value)) {
      open = false;
      continue;
    }
    const y = top + LANES.clearance - GAP - Math.min(Math.max(value / most, 0), 1) * (LANES.clearance - 2 * GAP);
    if (open) pen.lineTo(GUTTER + pixel, y);
    else pen.moveTo(GUTTER + pixel, y);
    open = true;
  }
  pen.stroke();
}

function label(pen: CanvasRenderingContext2D, top: number, height: number, name: string, most: string, colours: StripColours): void {
  pen.fillStyle = colours.sheet;
  pen.fillRect(0, top, GUTTER, height);
  pen.textBaseline = "top";
  pen.fillStyle = colours.ink;
  pen.font = "600 14px system-ui, sans-serif";
  pen.fillText(name, 8, top + GAP + 1);
  pen.fillStyle = colours.faint;
  pen.font = "13px system-ui, sans-serif";
  if (most !== "") pen.fillText(most, 8, top + GAP + 18);
  pen.fillStyle = colours.hair;
  pen.fillRect(0, top + height - 1, GUTTER, 1);
}

function scale(pen: CanvasRenderingContext2D, top: number, width: number, { from, to, time, course }: Picture, colours: StripColours): void {
  pen.fillStyle = colours.faint;
  pen.font = "13px system-ui, sans-serif";
  pen.textBaseline = "top";
  const most = Math.max(2, Math.floor((width - GUTTER - EDGE) / 110));
  const step = course.timed ? tickStep(to - from, most) : Math.max(1, Math.ceil((to - from) / most));
  for (let at = Math.ceil(from / step) * step; at <= to; at += step) {
    const x = xOf(at, from, to, width);
    pen.fillRect(x, top, 1, 6);
    const text = time(at);
    if (x + 3 + pen.measureText(text).width < width) pen.fillText(text, x + 3, top + 7);
  }
}

function drawMark(pen: CanvasRenderingContext2D, x: number, signal: Signal, colours: StripColours): void {
  const { ground, ink } = colours.signal[signal];
  pen.fillStyle = ground;
  pen.strokeStyle = colours.ink;
  pen.lineWidth = 1.2;
  pen.beginPath();
  if (signal === "NOTICE") pen.rect(x - 8, 5, 16, 16);
  else {
    pen.moveTo(x, 3);
    pen.lineTo(x + 10, 22);
    pen.lineTo(x - 10, 22);
    pen.closePath();
  }
  pen.fill();
  pen.stroke();
  pen.fillStyle = ink;
  pen.fillRect(x - 1, 10, 2, 6);
  pen.fillRect(x - 1, 18, 2, 2);
}
