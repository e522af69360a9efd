import type { ReactNode } from "react";

import { columnsIn } from "../../data/columns";
import { useJob } from "../../data/job";
import { useLast } from "../../data/last";
import { usePlace } from "../../data/place";
import { useBytes, useDocument } from "../../data/resource";
import { useSession } from "../../data/session";
import { type PathHead, pathIn } from "../../drawing/path";
import { PathPicture } from "../../drawing/PathPicture";
import { Choice } from "../../parts/Choice";
import { Findings } from "../../parts/Findings";
import { Problems } from "../../parts/Problems";
import { SignOff } from "../../parts/SignOff";
import { Program } from "../../program/Program";
import { decimals, duration, durationWithin, feed, mmPerMin, rpm, seconds, speed } from "../../units/units";
import type { ReadOfSetup, ToolRead } from "../../wire/api.gen";
import { words } from "../../words";

const toPath = (data: ArrayBuffer) => pathIn(columnsIn<PathHead>(data));

/** Read: what the programs ask for. */
export default function Read(): ReactNode {
  const { name, revision, setups } = useJob();
  const { setup, file, line, show } = usePlace();
  const asking = { at: { job: name }, query: { setup, revision }, lasting: true };
  const { value, error, again } = useDocument("GET /api/jobs/{job}/read", asking);
  const path = useBytes("GET /api/jobs/{job}/path", toPath, asking);
  const document = useLast(`${name}/${setup}`, value?.document);
  const read = document?.setups[0];
  if (document === undefined || read === undefined) {
    if (error !== undefined) return <Problems error={error} onRetry={again} />;
    return (
      <>
        <p role="status">{words.common.loading}</p>
        <Program file={file} findings={[]} line={line} onChoose={(at) => show({ line: at })} />
      </>
    );
  }
  return (
    <>
      <h1>{words.read.answer(read.tools.length, decimals(read.motions, 0), durationWithin(timeOf(read), read.time_uncertainty_s))}</h1>
      {setups.length > 1 && (
        <Choice
          name="setup"
          label={words.read.setup}
          value={setup}
          choices={setups.map((one) => [one, one] as const)}
          onChoose={(one) => show({ setup: one })}
        />
      )}
      <p>
        {read.stopped_at !== null && <strong>{words.read.stopped(read.stopped_at)} </strong>}
        {words.read.offsets(read.offsets.join(", ") || words.read.none)} {read.end !== "" && words.read.ending(read.end)}{" "}
        {words.read.control(read.profile)}
      </p>
      {document.findings.length === 0 ? (
        <p>{words.findings.none}</p>
      ) : (
        <Findings findings={document.findings} onOpen={(one) => show({ file: one.file, line: one.line })} />
      )}
      <Tools tools={read.tools} onOpen={(at) => show({ line: at })} />
      <div className="beside">
        <section>
          <h2>{words.read.program}</h2>
          {read.programs.length > 1 && (
            <Choice
              name="file"
              label={words.program.file}
              value={file}
              choices={read.programs.map((one) => [one.file, one.file] as const)}
              onChoose={(one) => show({ file: one, line: 1 })}
            />
          )}
          <Program file={file} findings={document.findings} line={line} onChoose={(at) => show({ line: at })} />
        </section>
        <section>
          <h2>{words.read.path}</h2>
          <Problems error={path.error} onRetry={path.again} />
          {path.value !== undefined && (
            <PathPicture path={path.value} file={file} line={line} onChoose={(at, of) => show({ file: at, line: of })} />
          )}
        </section>
      </div>
      {read.assumptions.length > 0 && (
        <details>
          <summary>{words.read.assumptions}</summary>
          <ul>
            {read.assumptions.map((one) => (
              <li key={one.behaviour + one.place}>
                {one.text} {words.read.assumed(one.reading, one.place, one.count)}
              </li>
            ))}
          </ul>
        </details>
      )}
      <SignOff station="read" />
    </>
  );
}

const timeOf = (read: ReadOfSetup) => (read.time_s === null ? null : seconds(read.time_s));

function Tools({ tools, onOpen }: { tools: ToolRead[]; onOpen: (line: number) => void }): ReactNode {
  const { unit } = useSession();
  const column = words.read.column;
  const feeds = (one: ToolRead): string => span(one.feed_range_mm_min, (value) => feed(mmPerMin(value), unit));
  const speeds = (one: ToolRead): string => span(one.speed_range_rpm, (value) => speed(rpm(value)));
  return (
    <div className="wide">
      <table className="ruled">
        <caption>{words.read.tools}</caption>
        <thead>
          <tr>
            {[column.tool, column.description, column.length, column.radius, column.feed, column.speed, column.time].map((one) => (
              <th key={one} scope="col">
                {one}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {tools.map((one) => (
            <tr key={one.number}>
              <th scope="row">
                <button type="button" className="button plain" onClick={() => onOpen(one.line)}>
                  T{one.number}
                </button>
              </th>
              <td>{one.description}</td>
              <td>{one.length_registers.map((register) => `H${register}`).join(", ") || words.read.none}</td>
              <td>{one.radius_registers.map((register) => `D${register}`).join(", ") || words.read.none}</td>
              <td>{feeds(one)}</td>
              <td>{speeds(one)}</td>
              <td>{duration(one.time_s === null ? null : seconds(one.time_s))}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

function span(range: [number, number] | null, text: (value: number) => string): string {
  if (range === null) return words.read.none;
  const [low, high] = range;
  return low === high ? text(low) : words.read.range(text(low), text(high));
}
