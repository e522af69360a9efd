// The bench on a page: brings the module in when it is first shown, fetches the metal of the moment, and says in words what is shown.

import { type KeyboardEvent, type ReactNode, useEffect, useRef, useState } from "react";

import { Away, bytes, Refused } from "../data/api";
import { columnsIn } from "../data/columns";
import { useSession } from "../data/session";
import { type ThemeColours, useThemeColours } from "../data/theme";
import { type Course, lineOf, type Moment, toolsOf } from "../strip/course";
import { length, mm } from "../units/units";
import { words } from "../words";
import type { Bench, BenchColours, Pointer, ViewName } from "./bench";
import { seriesColour } from "./colours";
import { Follower } from "./metal";
import type { SetupScene } from "./scene";
import { type Surface, surfaceIn } from "./surface";
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
    bench.tell();
  }, [bench, scene, course, track, moment, theme]);
  useEffect(() => {
    if (bench === undefined) return;
    bench.setPointers(pointers);
    bench.tell();
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

type MetalState = { kind: "fetching" | "gone" } | { kind: "shown"; row: number; bound: number };

/** Fetch the metal of the moment, coarse and then in full, and put it on the bench. Gives in words what is shown. */
function useMetal(bench: Bench | undefined, { job, proof, setup, scene, course }: Props, row: number): string {
  const [state, setState] = useState<MetalState>({ kind: "fetching" });
  const follower = useRef<Follower<Surface>>(undefined);
  const { unit } = useSession();
  useEffect(() => {
    if (bench === undefined) return undefined;
    const toolOf = (motion: number): number => course.tool[motion] ?? 0;
    const made = new Follower<Surface>({
      fetch: async (motion, triangles, signal) => {
        const query = { setup, proof, motion, triangles };
        return surfaceIn(columnsIn(await bytes("GET /api/jobs/{job}/moment", { at: { job }, query, signal })));
      },
      show: (surface, motion) => {
        bench.setMetal(surface, toolOf, motion);
        bench.tell();
        setState((held) => {
          const before = held.kind === "shown" && held.row === motion ? held.bound : 0;
          return { kind: "shown", row: motion, bound: Math.max(surface.boundMm, before) };
        });
      },
      failed: (error) => {
        if (error instanceof Refused) setState({ kind: "gone" });
        return error instanceof Away;
      },
    });
    follower.current = made;
    return () => made.end();
  }, [bench, job, proof, setup, scene, course]);
  useEffect(() => {
    if (bench === undefined) return;
    bench.expect(row);
    setState((held) => (held.kind === "gone" ? { kind: "fetching" } : held));
    follower.current?.want(row);
  }, [bench, job, proof, setup, scene, course, row]);
  if (state.kind !== "shown") return words.bench[state.kind];
  const place = state.row < 0 ? undefined : lineOf(course, { motion: state.row, share: 1 });
  const what = place === undefined ? words.bench.before : words.bench.after(words.common.line(place.file, place.line));
  const late = state.row === row ? "" : ` ${words.bench.fetching}`;
  return state.bound > 0 ? `${what} ${words.bench.coarse(length(mm(state.bound), unit, 1))}${late}` : `${what}${late}`;
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
