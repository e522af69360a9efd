import { lazy, type ReactNode, Suspense } from "react";

import { pageOf, pages } from "../../app/pages";
import { address, Link } from "../../app/router";
import { type StationLine, useJob } from "../../data/job";
import { StationMark } from "../../parts/StationMark";
import { moment } from "../../units/units";
import { words } from "../../words";

const sentences = Object.fromEntries(
  pages.flatMap((page) => (page.station === undefined || page.sentence === undefined ? [] : [[page.station, lazy(page.sentence)]])),
);

type StationKey = keyof typeof words.common.station;

/** The route card: the stations a job travels through, each with its state and its one most important sentence. */
export default function Card(): ReactNode {
  const { name, job, setups, programs: programsOf } = useJob();
  const { revision } = job;
  const programs = setups.flatMap(programsOf);
  return (
    <article className="traveller">
      <header>
        <h1>{revision.title || name}</h1>
        <p>
          {words.card.setups(setups.length)}: {setups.join(", ")}. {words.card.programs([...new Set(programs)].join(", "))}
        </p>
        <p className="faint">
          {words.card.revision(revision.number, revision.by, moment(revision.at))}
          {revision.note && `. ${revision.note}`}
        </p>
      </header>
      <ol className="stations" aria-label={words.card.stations}>
        {job.route_card.map((line) => (
          <Station key={line.station} line={line} job={name} />
        ))}
      </ol>
      <p className="faint">{words.common.caution}</p>
    </article>
  );
}

/** One station; one that does not exist yet is not shown. */
function Station({ line, job }: { line: StationLine; job: string }): ReactNode {
  const page = pageOf(line.station);
  const Sentence = sentences[line.station];
  if (page === undefined) return null;
  const key = line.station as StationKey;
  return (
    <li className={`station ${line.state === "needs a look" ? "look" : line.state}`}>
      <Link to={address(page.pattern, { job })}>
        <h2>{words.common.station[key]}</h2>
      </Link>
      <p className="question">{words.card.question[key]}</p>
      <p className="state">
        <StationMark state={line.state} />
        <span aria-hidden="true">{words.card.state[line.state]}</span>
      </p>
      {(line.text !== "" || Sentence !== undefined) && (
        <p className="sentence">
          {line.text}{" "}
          {Sentence !== undefined && (
            <Suspense fallback={null}>
              <Sentence />
            </Suspense>
          )}
        </p>
      )}
      {line.signed.map((one) => (
        <p key={`${one.by}${one.at}`} className="signature">
          {one.stands ? words.card.signedBy(one.by, moment(one.at), one.setup) : words.card.fallen(one.by, moment(one.at))}
        </p>
      ))}
    </li>
  );
}
