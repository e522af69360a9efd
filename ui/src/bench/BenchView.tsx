// The bench on a page: brings the module in when it is first shown, fetches the metal of the moment, and says in words what is shown.

import { type KeyboardEvent, type ReactNode, useEffect, useRef, useState } from "react";

import { bytes, Refused } from "../data/api";
import { columnsIn } from "../data/columns";
import { useSession } from "../data/session";
import { type ThemeColours, useThemeColours } from "../data/theme";
import { type Course, lineOf, type Moment, toolsOf } from "../strip/course";
import { length, mm } from "../units/units";
import { words } from "../words";
import type { Bench, BenchColours, Pointer, ViewName } from "./bench";
import { seriesColour } from "./colours";
import type { SetupScene } from "./scene";
import { surfaceIn } from "./surface";
import { tipAt, type Track } from "./track";

interface Props {
  job: string;
  proof: number;
  setup: string;
  scene: SetupScene;
  course: Course;
  track: Track;
  moment: Moment;
  pointers: readonly Pointer[];
  onPick: (motion: number) => void;
}

const COARSE = 30_000;
const LARGE = 600_000;
const WAIT_MS = 90;
const VIEWS: readonly ViewName[] = ["corner", "above", "front", "side"];

function coloursOf(theme: ThemeColours): BenchColours {
  const signal = theme.signal;
  return {
    ground: theme.sheet,
    ink: theme.ink,
    holding: theme.dark ? "#56646b" : "#8b979c",
    table: theme.dark ? "#39464c" : "#b9bdb6",
    blank: theme.dark ? "#b8b8b0" : "#cfcfc6",
    holder: theme.dark ? "#77838a" : "#5d686e",
    shank: theme.dark ? "#a4adb1" : "#8f999d",
    signal: {
      DANGER: signal.DANGER.ground,
      WARNING: signal.WARNING.ground,
      CAUTION: signal.CAUTION.ground,
      NOTICE: signal.NOTICE.ground,
      "": theme.focus,
    },
  };
}

export function BenchView(props: Props): ReactNode {
  const { scene, course, track, moment, pointers, onPick } = props;
  const canvas = useRef<HTMLCanvasElement>(null);
  const [bench, setBench] = useState<Bench>();
  const [broken, setBroken] = useState("");
  const theme = useThemeColours();
  const pick = useRef(onPick);
  pick.current = onPick;
  const themeNow = useRef(theme);
  themeNow.current = theme;
  useEffect(() => {
    let made: Bench | undefined;
    let gone = false;
    import("./bench").then(
      (module) => {
        if (gone || canvas.current === null) return;
        try {
          made = new module.Bench(canvas.current, coloursOf(themeNow.current), (motion) => pick.current(motion));
          setBench(made);
        } catch (error) {
          setBroken(`${words.bench.noGl} (${error instanceof Error ? error.message : String(error)})`);
        }
      },
      (error: unknown) => setBroken(error instanceof Error ? error.message : String(error)),
    );
    return () => {
      gone = true;
      made?.dispose();
    };
  }, []);
  useEffect(() => {
    if (bench !== undefined) bench.setScene(scene, toolsOf(course));
  }, [bench, scene, course]);
  useEffect(() => {
    if (bench !== undefined) bench.paint(coloursOf(theme));
  }, [bench, theme]);
  const row = moment.share >= 1 ? moment.motion : moment.motion - 1;
  const metal = useMetal(bench, props, row);
  useEffect(() => {
    if (bench === undefined) return;
    const tool = course.tool[Math.max(moment.motion, 0)];
    bench.setTool(tool, moment.motion < 0 ? undefined : tipAt(track, moment.motion, moment.share));
    bench.setWay(...wayAbout(course, track, moment.motion));
    tell(bench);
  }, [bench, scene, course, track, moment, theme]);
  useEffect(() => {
    if (bench === undefined) return;
    bench.setPointers(pointers);
    tell(bench);
  }, [bench, pointers, theme]);
  const keys = (event: KeyboardEvent): void => {
    const steps = { ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down", "+": "closer", "=": "closer", "-": "farther" } as const;
    const step = event.altKey || event.ctrlKey || event.metaKey ? undefined : steps[event.key as keyof typeof steps];
    if (step === undefined || bench === undefined) return;
    event.preventDefault();
    bench.step(step);
  };
  return (
    <div className="bench">
      <div className="bench-views" role="group" aria-label={words.bench.views}>
        {VIEWS.map((name) => (
          <button key={name} type="button" className="button plain" onClick={() => bench?.view(name)}>
            {words.bench.view[name]}
          </button>
        ))}
      </div>
      {broken !== "" && <p role="alert">{broken}</p>}
      <canvas ref={canvas} tabIndex={0} role="img" aria-label={words.bench.label} className="bench-canvas" onKeyDown={keys} />
      <p className="bench-said">{metal}</p>
      <Legend scene={scene} course={course} />
    </div>
  );
}

/** What is shown, on the element itself: for tests, and for programs that look at the page. */
function tell(bench: Bench): void {
  bench.canvas.dataset["shown"] = JSON.stringify(bench.shown());
}

type MetalState = { kind: "fetching" | "gone" } | { kind: "shown"; row: number; bound: number };

/**
 * Fetch the metal once the moment rests for a blink: in full, and then coarse for turning it; the coarse one first where the full one
 * is large. Gives in words what is shown.
 */
function useMetal(bench: Bench | undefined, { job, proof, setup, scene, course }: Props, row: number): string {
  const [state, setState] = useState<MetalState>({ kind: "fetching" });
  const large = useRef(false);
  const { unit } = useSession();
  useEffect(() => {
    if (bench === undefined) return undefined;
    const abort = new AbortController();
    const toolOf = (motion: number): number => course.tool[motion] ?? 0;
    const show = async (triangles: number | undefined): Promise<void> => {
      const query = { setup, proof, motion: row, triangles };
      const data = await bytes("GET /api/jobs/{job}/moment", { at: { job }, query, signal: abort.signal });
      const columns = columnsIn<SurfaceHead>(data);
      const surface = surfaceIn(columns);
      large.current = (columns.head.whole_triangles ?? 0) > LARGE;
      bench.setMetal(surface, toolOf, row);
      tell(bench);
      const bound = surface.boundMm;
      setState((held) => ({ kind: "shown", row, bound: Math.max(bound, held.kind === "shown" && held.row === row ? held.bound : 0) }));
    };
    const both = async (): Promise<void> => {
      const order = large.current ? [COARSE, undefined] : [undefined, COARSE];
      for (const triangles of order) await show(triangles);
    };
    const timer = setTimeout(() => {
      setState((held) => (held.kind === "gone" ? { kind: "fetching" } : held));
      both().catch((error: unknown) => {
        if (!abort.signal.aborted && error instanceof Refused) setState({ kind: "gone" });
      });
    }, WAIT_MS);
    return () => {
      clearTimeout(timer);
      abort.abort();
    };
  }, [bench, job, proof, setup, scene, course, row]);
  if (state.kind !== "shown") return words.bench[state.kind];
  const place = state.row < 0 ? undefined : lineOf(course, { motion: state.row, share: 1 });
  const what = place === undefined ? words.bench.before : words.bench.after(words.common.line(place.file, place.line));
  const late = state.row === row ? "" : ` ${words.bench.fetching}`;
  return state.bound > 0 ? `${what} ${words.bench.coarse(length(mm(state.bound), unit, 1))}${late}` : `${what}${late}`;
}

interface SurfaceHead {
  bound_mm?: number;
  whole_triangles?: number;
}

function Legend({ scene, course }: { scene: SetupScene; course: Course }): ReactNode {
  return (
    <ul className="legend" aria-label={words.bench.legend}>
      {toolsOf(course).map((station, index) => (
        <li key={station}>
          <svg width="16" height="16" aria-hidden="true">
            <rect width="16" height="16" fill={seriesColour(index)} />
          </svg>
          {words.bench.tool(station, scene.tools[String(station)]?.name ?? "")}
        </li>
      ))}
      <li>
        <svg width="16" height="16" aria-hidden="true" className="uncut">
          <rect width="16" height="16" />
        </svg>
        {words.bench.uncut}
      </li>
    </ul>
  );
}

/** The tip's way through a few motions before and after the moment. */
function wayAbout(course: Course, track: Track, motion: number): [Array<[number, number, number]>, boolean[]] {
  const AROUND = 6;
  const points: Array<[number, number, number]> = [];
  const rapid: boolean[] = [];
  let at = 0;
  let high = track.count;
  while (at < high) {
    const middle = (at + high) >> 1;
    if ((track.motion[middle] ?? 0) < motion - AROUND) at = middle + 1;
    else high = middle;
  }
  for (; at < track.count && (track.motion[at] ?? 0) <= motion + AROUND; at++) {
    if (!track.joined[at]) {
      points.length = 0;
      rapid.length = 0;
    }
    points.push([track.point[3 * at] ?? 0, track.point[3 * at + 1] ?? 0, track.point[3 * at + 2] ?? 0]);
    rapid.push(course.kind[track.motion[at] ?? 0] === 0);
  }
  return [points, rapid];
}
