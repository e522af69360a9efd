// The look in numbers that Mantine's parts need; the colours themselves stand in styles/paper.css, for light and dark.

import { createTheme, type MantineColorsTuple } from "@mantine/core";

// Ink, from the lightest wash to the darkest: the one colour of buttons and links. Hazard colours are no theme colours.
const ink: MantineColorsTuple = [
  "#eef3f6", "#dbe5ea", "#b6cad4", "#8eadbd", "#6c94a8", "#56859b", "#487c95", "#2f5f78", "#23495c", "#173442",
];

export const theme = createTheme({
  primaryColor: "ink",
  primaryShade: { light: 7, dark: 3 },
  autoContrast: true,
  colors: { ink },
  fontFamily: "system-ui, -apple-system, 'Segoe UI', 'Noto Sans', 'Liberation Sans', sans-serif",
  fontFamilyMonospace: "ui-monospace, 'Cascadia Mono', 'DejaVu Sans Mono', 'Liberation Mono', monospace",
  defaultRadius: 3,
  fontSizes: { xs: "0.875rem", sm: "1rem", md: "1.0625rem", lg: "1.25rem", xl: "1.5rem" },
  respectReducedMotion: true,
  cursorType: "pointer",
  components: {
    Button: { defaultProps: { size: "md" } },
    TextInput: { defaultProps: { size: "md" } },
    NumberInput: { defaultProps: { size: "md" } },
    NativeSelect: { defaultProps: { size: "md" } },
    // The lock of scrolling writes a style element of its own, which the server's rules for the browser do not let in.
    Modal: { defaultProps: { lockScroll: false } },
  },
});
