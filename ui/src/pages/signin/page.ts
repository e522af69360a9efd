import type { PageDescription } from "../../app/pages";
import { words } from "../../words";

export const page: PageDescription = {
  pattern: "/sign-in",
  title: () => words.signin.title,
  load: () => import("./SignIn"),
  open: true,
};
