import type { ReactNode } from "react";

import { type Finding, worstFirst } from "../data/findings";
import { words } from "../words";
import { SignalWord } from "./SignalWord";

interface Props<One extends Finding> {
  findings: readonly One[];
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

/** What is wrong, worst first: signal word, what, what to do, and the way to its line. */
export function Findings<One extends Finding>({ findings, onOpen, open, more, setup, label = words.findings.title }: Props<One>): ReactNode {
  return (
    <ol className="findings" aria-label={label}>
      {worstFirst(findings).map((one, index) => (
        <li key={`${one.slug}${one.file}${one.line}${index}`} className={one === open ? "finding open" : "finding"}>
          <SignalWord signal={one.signal} />
          <div className="finding-text">
            <p>
              {one.text}
              {one.setup !== "" && one.setup !== setup && <span className="faint"> {one.setup}</span>}
            </p>
            {one.remedy !== "" && <p className="remedy">{one.remedy}</p>}
            {more?.(one)}
          </div>
          <Place finding={one} onOpen={onOpen} />
        </li>
      ))}
    </ol>
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
