import type { ReactNode } from "react";

import { type Finding, type Told, told } from "../data/findings";
import { words } from "../words";
import { SignalWord } from "./SignalWord";

interface Props<One extends Finding> {
  /** All of an answer's findings: each may name another one that it is told with. */
  findings: readonly One[];
  /** Which of them are shown; all of them otherwise. */
  only?: (finding: One) => boolean;
  /** Opens the exact line and place of a finding. */
  onOpen?: (finding: One) => void;
  /** The finding that is open. */
  open?: One | undefined;
  /** What more is said or can be done about one. */
  more?: (finding: One) => ReactNode;
  label?: string;
  /** The setup that is shown anyway: its name is not repeated. */
  setup?: string;
}

/** What is wrong, worst first, one a cause: signal word, what, what to do, and the way to its line. Notices are counted, and listed on demand. */
export function Findings<One extends Finding>({ findings, only, label = words.findings.title, ...rest }: Props<One>): ReactNode {
  const groups = told(findings).filter((one) => only?.(one.lead) ?? true);
  const small = groups.filter((one) => one.signal === "NOTICE");
  const listed = (those: readonly Told<One>[]): ReactNode =>
    those.map((one, index) => <Cause key={`${one.lead.slug}${one.lead.file}${one.lead.line}${index}`} told={one} {...rest} />);
  return (
    <>
      {small.length < groups.length && (
        <ol className="findings" aria-label={label}>
          {listed(groups.filter((one) => one.signal !== "NOTICE"))}
        </ol>
      )}
      {small.length > 0 && (
        <details className="notices">
          <summary>{words.findings.notices(small.length)}</summary>
          <ol className="findings" aria-label={words.findings.notices(small.length)}>
            {listed(small)}
          </ol>
        </details>
      )}
    </>
  );
}

type CauseProps<One extends Finding> = Omit<Props<One>, "findings" | "only" | "label"> & { told: Told<One> };

/** One finding, with what follows from it and, folded, its other places. */
function Cause<One extends Finding>({ told: { lead, signal, places, follows }, onOpen, open, more, setup }: CauseProps<One>): ReactNode {
  return (
    <li className={lead === open ? "finding open" : "finding"}>
      <SignalWord signal={signal} />
      <div className="finding-text">
        <p>
          {lead.text}
          {lead.setup !== "" && lead.setup !== setup && <span className="faint"> {lead.setup}</span>}
        </p>
        {lead.remedy !== "" && <p className="remedy">{lead.remedy}</p>}
        {follows.map((one, index) => (
          <p key={`${one.slug}${one.line}${index}`} className="follows">
            {words.findings.so(one.text)} <Place finding={one} onOpen={onOpen} />
          </p>
        ))}
        {places.length > 0 && (
          <details>
            <summary>{words.findings.places(places.length)}</summary>
            <ul>
              {places.map((one, index) => (
                <li key={`${one.file}${one.line}${index}`} className={one === open ? "open" : undefined}>
                  {one.text} <Place finding={one} onOpen={onOpen} />
                  {more?.(one)}
                </li>
              ))}
            </ul>
          </details>
        )}
        {more?.(lead)}
        {follows.map((one, index) => (
          <div key={`${one.slug}${one.line}${index}`}>{more?.(one)}</div>
        ))}
      </div>
      <Place finding={lead} onOpen={onOpen} />
    </li>
  );
}

function Place<One extends Finding>({ finding, onOpen }: { finding: One; onOpen: ((finding: One) => void) | undefined }): ReactNode {
  if (finding.file === "" || finding.line < 1) return null;
  const text = words.common.line(finding.file, finding.line);
  if (onOpen === undefined) return <span className="place">{text}</span>;
  return (
    <button type="button" className="button plain place" onClick={() => onOpen(finding)}>
      {text}
      <span className="unseen">: {finding.text}</span>
    </button>
  );
}
