import type { PageDescription } from "../../app/pages";
import { words } from "../../words";

export const page: PageDescription = {
  pattern: "/jobs/:job/piece",
  station: "piece",
  title: ({ job }) => words.piece.title(job ?? ""),
  load: () => import("./Piece"),
};
