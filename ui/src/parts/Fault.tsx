import { Component, type ReactNode } from "react";

import { words } from "../words";

interface Props {
  given: Error | undefined;
  children: ReactNode;
}

/** Catches what a page did not foresee and says what to do, instead of an empty page. */
export class Fault extends Component<Props, { error: Error | undefined }> {
  override state: { error: Error | undefined } = { error: undefined };

  static getDerivedStateFromError(error: Error): { error: Error } {
    return { error };
  }

  override render(): ReactNode {
    const error = this.state.error ?? this.props.given;
    if (error === undefined) return this.props.children;
    return (
      <div role="alert">
        <h1>{words.common.faultTitle}</h1>
        <p>{error.message}</p>
        <p>{words.common.faultNext}</p>
        <button type="button" className="button" onClick={() => window.location.reload()}>
          {words.common.reload}
        </button>
      </div>
    );
  }
}
