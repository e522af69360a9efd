export const program = {
  label: (file: string) => `Program ${file}`,
  help: "Arrow keys go line by line, Page keys a page, Home and End to the ends.",
  file: "Program",
  nextMark: "Next finding",
  previousMark: "Finding before",
  line: (line: number, text: string) => `Line ${line}: ${text || "empty"}`,
  of: (line: number, lines: number) => `Line ${line} of ${lines}`,
};
