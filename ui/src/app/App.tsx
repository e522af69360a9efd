import { MantineProvider } from "@mantine/core";
import type { ReactNode } from "react";

import { SessionProvider } from "../data/session";
import { Router } from "./router";
import { Shell } from "./Shell";
import { theme } from "./theme";

/** Everything there is, from the theme inwards. The theme's variables come as a stylesheet, so nothing is written into the page. */
export function App(): ReactNode {
  return (
    <MantineProvider theme={theme} defaultColorScheme="auto" withCssVariables={false} withGlobalClasses={false}>
      <Router>
        <SessionProvider>
          <Shell />
        </SessionProvider>
      </Router>
    </MantineProvider>
  );
}
