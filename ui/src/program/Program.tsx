import type { ReactNode } from "react";

import { type Finding, byLine } from "../data/findings";
import { useJob } from "../data/job";
import { useBytes } from "../data/resource";
import { Problems } from "../parts/Problems";
import { words } from "../words";
import { linesIn } from "./lines";
import { ProgramText } from "./ProgramText";

interface Props {
  file: string;
  findings: readonly Finding[];
  line: number;
  onChoose: (line: number) => void;
}

/** A program of the job as it is in the revision shown. */
export function Program({ file, findings, line, onChoose }: Props): ReactNode {
  const { name, revision, job } = useJob();
  const home = job.revision.home;
  const asking = { at: { job: name }, query: { path: home === "" ? file : `${home}/${file}`, revision }, lasting: true };
  const { value, error, again } = useBytes(file === "" ? undefined : "GET /api/jobs/{job}/file", linesIn, asking);
  if (value === undefined) return error === undefined ? <p>{words.common.loading}</p> : <Problems error={error} onRetry={again} />;
  return <ProgramText file={file} lines={value} findings={byLine(findings, file)} line={line} onChoose={onChoose} />;
}
