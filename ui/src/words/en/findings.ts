export const findings = {
  title: "Findings, worst first",
  none: "Nothing found.",
  count: (word: string, count: number) => `${count} × ${word}`,
  inLine: (line: number, texts: string) => `Line ${line}: ${texts}`,
};
