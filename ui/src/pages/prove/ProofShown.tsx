import { type ReactNode, useCallback, useEffect, useMemo, useRef, useState } from "react";

import type { Pointer } from "../../bench/bench";
import { BenchView } from "../../bench/BenchView";
import { trackIn } from "../../bench/track";
import { columnsIn } from "../../data/columns";
import { counted, type NamedFinding, told } from "../../data/findings";
import { useJob } from "../../data/job";
import { usePlace } from "../../data/place";
import { useBytes, useDocument } from "../../data/resource";
import { Choice } from "../../parts/Choice";
import { Findings } from "../../parts/Findings";
import { Problems } from "../../parts/Problems";
import { Program } from "../../program/Program";
import { type Course, type CourseHead, courseIn, lineOf, type Moment, momentOfLine } from "../../strip/course";
import { Strip } from "../../strip/Strip";
import type { ClearanceSaid, ContactSaid, ProofAnswer, ProofOfSetup } from "../../wire/api.gen";
import { words } from "../../words";
import { Acceptance } from "./Acceptance";
import { Details, Facts } from "./Details";
import { Place } from "./Place";

interface Props {
  proof: number;
  document: ProofAnswer;
  findings: readonly NamedFinding[];
  current: boolean;
}

const toCourse = (data: ArrayBuffer) => courseIn(columnsIn<CourseHead>(data));
const toTrack = (data: ArrayBuffer) => trackIn(columnsIn(data));
const SETTLE_MS = 600;

interface Shown {
  moment: Moment;
  file: string;
  line: number;
  finding: NamedFinding | undefined;
  pass: ClearanceSaid | ContactSaid | undefined;
}

/** A proof: its findings, and one moment of one setup on bench, strip and program at once. */
export function ProofShown({ proof, document, findings, current }: Props): ReactNode {
  const { name, setups } = useJob();
  const place = usePlace();
  const proved = document.setups.find((one) => one.setup === place.setup) ?? document.setups[0];
  const setup = proved?.setup ?? place.setup;
  const asking = { at: { job: name }, query: { setup, proof }, lasting: true };
  const strip = useBytes("GET /api/jobs/{job}/strip", toCourse, asking);
  const track = useBytes("GET /api/jobs/{job}/track", toTrack, asking);
  const kit = useDocument("GET /api/jobs/{job}/kit", { at: { job: name }, query: { setup } });
  const scene = kit.value?.document.setups[0]?.scene;
  const stage = useStage(strip.value, setup);
  const { shown } = stage;
  const inSetup = (one: NamedFinding): boolean => one.setup === "" || one.setup === setup;
  const here = findings.filter(inSetup);
  const open = (one: NamedFinding): void => stage.open(one, proved);
  const pointers = useMemo(() => pointersOf(shown, proved), [shown, proved]);
  return (
    <>
      <h1>{proved?.verdict ?? document.verdict}</h1>
      {setups.length > 1 && (
        <Choice
          name="setup"
          label={words.prove.setup}
          value={setup}
          choices={document.setups.map((one) => [one.setup, setupSaid(one.setup, findings)] as const)}
          onChoose={(one) => place.show({ setup: one })}
        />
      )}
      {proved !== undefined && <Facts proved={proved} found={here.length} />}
      {here.length > 0 && (
        <Findings
          findings={findings}
          only={inSetup}
          setup={setup}
          open={shown.finding}
          onOpen={open}
          more={(one) => (
            <>
              <Place finding={one} proof={proof} open={one === shown.finding} />
              <Acceptance finding={one} current={current} />
            </>
          )}
        />
      )}
      <div className="stage">
        <section aria-label={words.prove.program}>
          <Program file={shown.file} findings={here} line={shown.line} onChoose={(line) => stage.toLine(shown.file, line)} />
        </section>
        <section aria-label={words.prove.bench}>
          {scene !== undefined && strip.value !== undefined && track.value !== undefined ? (
            <BenchView
              job={name}
              proof={proof}
              setup={setup}
              scene={scene}
              course={strip.value}
              track={track.value}
              moment={shown.moment}
              pointers={pointers}
              onPick={stage.toMotion}
            />
          ) : (
            <p>{strip.error === undefined ? words.common.loading : words.bench.gone}</p>
          )}
        </section>
        <section aria-label={words.prove.strip} className="stage-strip">
          {strip.value === undefined ? (
            <Problems error={strip.error} onRetry={strip.again} />
          ) : (
            <Strip course={strip.value} findings={here} moment={shown.moment} onMoment={stage.toMoment} />
          )}
        </section>
      </div>
      {proved !== undefined && <Details proved={proved} onShow={stage.toPass} />}
    </>
  );
}

/** A setup's name with how many findings of which word it has. */
function setupSaid(setup: string, findings: readonly NamedFinding[]): string {
  const own = counted(
    told(findings)
      .filter((one) => one.lead.setup === setup)
      .map(({ lead, signal }) => ({ ...lead, signal })),
  );
  return [setup, ...own.map(([word, count]) => words.findings.count(word, count))].join(", ");
}

interface Stage {
  shown: Shown;
  toMoment: (moment: Moment) => void;
  toMotion: (motion: number) => void;
  toLine: (file: string, line: number) => void;
  toPass: (pass: ClearanceSaid | ContactSaid) => void;
  open: (finding: NamedFinding, proved: ProofOfSetup | undefined) => void;
}

/** The one moment that bench, strip and program show; it begins at the line of the address, and the address follows it. */
function useStage(course: Course | undefined, setup: string): Stage {
  const place = usePlace();
  const [shown, setShown] = useState<Shown>(() => start(place.file, place.line));
  const placed = useRef<{ course: Course | undefined; setup: string }>({ course: undefined, setup });
  useEffect(() => {
    if (course === undefined || placed.current.course === course) return;
    placed.current = { course, setup };
    const asked = place.line > 1 && course.files.includes(place.file) ? momentOfLine(course, place.file, place.line) : undefined;
    const moment = asked ?? atEnd(course);
    const at = asked === undefined ? lineOf(course, moment) : place;
    setShown({ ...start(at?.file ?? place.file, at?.line ?? place.line), moment });
  }, [course, setup, place.file, place.line]);
  useEffect(() => {
    if (placed.current.course === undefined || (shown.file === place.file && shown.line === place.line)) return undefined;
    const timer = setTimeout(() => place.show({ file: shown.file, line: shown.line }), SETTLE_MS);
    return () => clearTimeout(timer);
  }, [shown.file, shown.line, place]);
  const toMoment = useCallback(
    (moment: Moment) => {
      const at = course === undefined ? undefined : lineOf(course, moment);
      setShown((held) => ({ moment, file: at?.file ?? held.file, line: at?.line ?? held.line, finding: undefined, pass: undefined }));
    },
    [course],
  );
  const toMotion = useCallback((motion: number) => toMoment({ motion, share: 1 }), [toMoment]);
  const toLine = useCallback(
    (file: string, line: number) => {
      const moment = course === undefined ? undefined : momentOfLine(course, file, line);
      setShown((held) => ({ ...start(file, line), moment: moment ?? held.moment }));
    },
    [course],
  );
  const toPass = useCallback(
    (pass: ClearanceSaid | ContactSaid) => setShown({ ...start(pass.file, pass.line), moment: { motion: pass.motion, share: 1 }, pass }),
    [],
  );
  const open = useCallback(
    (finding: NamedFinding, proved: ProofOfSetup | undefined) => {
      const line = Math.max(finding.line, 1);
      const byLine = course === undefined ? undefined : momentOfLine(course, finding.file, line);
      const moment = finding.motion >= 0 ? { motion: finding.motion, share: 1 } : byLine;
      const passes = [...(proved?.contacts ?? []), ...(proved?.clearance ?? [])];
      const pass = passes.find((one) => one.motion === finding.motion && one.file === finding.file);
      setShown((held) => ({ moment: moment ?? held.moment, file: finding.file, line, finding, pass }));
    },
    [course],
  );
  return { shown, toMoment, toMotion, toLine, toPass, open };
}

const start = (file: string, line: number): Shown => ({ moment: { motion: -1, share: 1 }, file, line, finding: undefined, pass: undefined });
const atEnd = (course: Course): Moment => ({ motion: course.rows - 1, share: 1 });

/** What is pointed out on the bench: every contact of the setup, and the closest pass that was asked for. */
function pointersOf(shown: Shown, proved: ProofOfSetup | undefined): Pointer[] {
  const contacts = (proved?.contacts ?? []).flatMap((one): Pointer[] => {
    const [x, y, z] = one.at; // not known where only the depth is
    return x === null || y === null || z === null ? [] : [{ from: [x, y, z], signal: "DANGER" }];
  });
  const { pass, finding } = shown;
  if (pass === undefined || !("on_tool" in pass)) return contacts;
  return [...contacts, { from: pass.on_tool, to: pass.on_body, signal: finding?.signal ?? "" }];
}
