import { type ReactNode, useMemo } from "react";

import { JobContext, type JobDocument, type OpenJob, type StationLine } from "../data/job";
import { useJobEvents } from "../data/live";
import { useDocument } from "../data/resource";
import { useSession } from "../data/session";
import { Problems } from "../parts/Problems";
import { StationMark } from "../parts/StationMark";
import { words } from "../words";
import { offered, type PageDescription, pageOf } from "./pages";
import { address, Link } from "./router";

/** What a page about a job has around it: the job's name, and its stations in their order as the way from one to the next. */
export function JobFrame({ job, page, children }: { job: string; page: PageDescription; children: ReactNode }): ReactNode {
  const { who } = useSession();
  const { value, error, again } = useDocument("GET /api/jobs/{job}", { at: { job } });
  const change = useJobEvents(job, who?.name ?? "");
  const open = useMemo<OpenJob | undefined>(() => {
    if (value === undefined) return undefined;
    const document = value.document as JobDocument;
    const { setup } = document.document;
    return {
      name: job,
      revision: value.revision,
      job: document,
      setups: setup.map((one) => one.name),
      programs: (named) => setup.find((one) => one.name === named)?.programs ?? [],
    };
  }, [value, job]);
  if (open === undefined) return error === undefined ? <p>{words.common.loading}</p> : <Problems error={error} onRetry={again} />;
  return (
    <JobContext.Provider value={open}>
      <nav className="job-nav" aria-label={words.common.job(job)}>
        <Link to={address("/jobs/:job", { job })} className="job-name" aria-current={page.pattern === "/jobs/:job" ? "page" : undefined}>
          {open.job.revision.title || job}
        </Link>
        <ol>
          {open.job.route_card.map((line) => (
            <StationStep key={line.station} job={job} line={line} current={page.station === line.station} />
          ))}
        </ol>
        {offered("job").map((one) => (
          <Link key={one.pattern} to={address(one.pattern, { job })} className="job-beside" aria-current={one === page ? "page" : undefined}>
            {one.offered?.label}
          </Link>
        ))}
      </nav>
      <p role="status" className={change === undefined ? "" : "changed"}>
        {change === undefined ? "" : words.common.changedBy(change.by, change.revision)}
      </p>
      {children}
    </JobContext.Provider>
  );
}

function StationStep({ job, line, current }: { job: string; line: StationLine; current: boolean }): ReactNode {
  const page = pageOf(line.station);
  const name = words.common.station[line.station as keyof typeof words.common.station];
  if (page === undefined) return null;
  return (
    <li>
      <Link to={address(page.pattern, { job })} className="station-step" aria-current={current ? "page" : undefined}>
        <StationMark state={line.state} />
        {name}
      </Link>
    </li>
  );
}
