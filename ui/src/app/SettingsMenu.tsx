import { useMantineColorScheme } from "@mantine/core";
import { type ReactNode, useEffect, useRef } from "react";

import { useSession } from "../data/session";
import { Choice } from "../parts/Choice";
import { words } from "../words";

/** Brightness and unit of length, as the person wants them; folded up at the top right. */
export function SettingsMenu(): ReactNode {
  const { who, unitChoice, chooseUnit } = useSession();
  const { colorScheme, setColorScheme } = useMantineColorScheme({ keepTransitions: true });
  const fold = useRef<HTMLDetailsElement>(null);
  useEffect(() => {
    const away = (event: Event): void => {
      if (event.target instanceof Node && !fold.current?.contains(event.target)) fold.current?.removeAttribute("open");
    };
    document.addEventListener("pointerdown", away);
    document.addEventListener("focusin", away);
    return () => {
      document.removeEventListener("pointerdown", away);
      document.removeEventListener("focusin", away);
    };
  }, []);
  return (
    <details
      ref={fold}
      className="settings"
      onKeyDown={(event) => {
        if (event.key === "Escape") {
          fold.current?.removeAttribute("open");
          fold.current?.querySelector("summary")?.focus();
        }
      }}
    >
      <summary>{who === undefined ? words.common.settings : who.name}</summary>
      <div className="settings-fold">
        {who !== undefined && <p>{words.common.whoYouAre(who.name, who.role)}</p>}
        <Choice
          name="theme"
          label={words.common.theme}
          value={colorScheme}
          choices={[
            ["auto", words.common.asSystem],
            ["light", words.common.light],
            ["dark", words.common.dark],
          ]}
          onChoose={setColorScheme}
        />
        <Choice
          name="units"
          label={words.common.units}
          value={unitChoice}
          choices={[
            ["job", words.common.asJob],
            ["mm", words.common.mm],
            ["inch", words.common.inch],
          ]}
          onChoose={chooseUnit}
        />
      </div>
    </details>
  );
}
