import { convertCssVariables, defaultCssVariablesResolver, DEFAULT_THEME, mergeMantineTheme } from "@mantine/core";
import react from "@vitejs/plugin-react";
import { defineConfig, type Plugin } from "vite";

import { theme } from "./src/app/theme.ts";

const PLACE = "/* theme variables */";

/** The theme's variables put into the pages' own stylesheet: no style element is ever written into the page. */
function themeInStylesheet(): Plugin {
  return {
    name: "setwright-theme-in-stylesheet",
    enforce: "pre",
    transform(code, id) {
      if (!id.endsWith("/styles/all.css")) return null;
      const variables = convertCssVariables(defaultCssVariablesResolver(mergeMantineTheme(DEFAULT_THEME, theme)), ":root");
      return { code: code.replace(PLACE, `@layer mantine {\n${variables}\n}`), map: null };
    },
  };
}

// The pages are served by the package itself: everything lands in its folder, nothing comes from elsewhere, and nothing is inlined
// as data, because the server's content security policy lets in files of its own only.
export default defineConfig({
  plugins: [themeInStylesheet(), react()],
  build: {
    outDir: "../src/setwright/web/static",
    emptyOutDir: true,
    assetsInlineLimit: 0,
    license: { fileName: "licences.md" },
    modulePreload: { polyfill: false },
    target: "es2022",
    chunkSizeWarningLimit: 800,
  },
  server: { proxy: { "/api": "http://127.0.0.1:8420" } },
});
