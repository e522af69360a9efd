import { type ReactNode, useId } from "react";

interface Props<Value extends string> {
  name: string;
  label: string;
  value: Value;
  choices: ReadonlyArray<readonly [value: Value, label: string]>;
  onChoose: (value: Value) => void;
}

/** One of a few, as a row of large radio buttons. */
export function Choice<Value extends string>({ name, label, value, choices, onChoose }: Props<Value>): ReactNode {
  const group = useId();
  return (
    <fieldset className="choice">
      <legend>{label}</legend>
      {choices.map(([one, text]) => (
        <label key={one}>
          <input type="radio" name={`${name}${group}`} value={one} checked={value === one} onChange={() => onChoose(one)} />
          <span>{text}</span>
        </label>
      ))}
    </fieldset>
  );
}
