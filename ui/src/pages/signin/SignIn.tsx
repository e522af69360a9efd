// Signing in and out.

import { type ReactNode, useState } from "react";

import { useNavigation } from "../../app/router";
import { remove, write } from "../../data/api";
import { useSession } from "../../data/session";
import { useSending } from "../../parts/Statement";
import { words } from "../../words";

const said = words.signin;

export default function SignIn(): ReactNode {
  const { who, again } = useSession();
  const { location, go } = useNavigation();
  const { busy, run, problems } = useSending("");
  const [name, setName] = useState("");
  const [password, setPassword] = useState("");
  const asked = location.query.get("to") ?? "/";
  const to = asked.startsWith("/") && !asked.startsWith("//") ? asked : "/";
  const enter = async (): Promise<void> => {
    if (!(await run(() => write("POST /api/session", { name, password })))) {
      setPassword("");
      return;
    }
    await again();
    go(to, { replace: true });
  };
  const leave = async (): Promise<void> => {
    await run(() => remove("DELETE /api/session"));
    await again();
  };
  if (who !== undefined) {
    return (
      <>
        <h1>{said.already(who.name)}</h1>
        {who.accounts && (
          <button type="button" className="button" disabled={busy} onClick={() => void leave()}>
            {said.out}
          </button>
        )}
        {problems}
      </>
    );
  }
  return (
    <form
      className="small-form sign-in"
      onSubmit={(event) => {
        event.preventDefault();
        void enter();
      }}
    >
      <h1>{said.heading}</h1>
      <label className="pick">
        <span>{said.name}</span>
        <input className="input" autoComplete="username" autoFocus value={name} onChange={(event) => setName(event.target.value)} />
      </label>
      <label className="pick">
        <span>{said.password}</span>
        <input className="input" type="password" autoComplete="current-password" value={password} onChange={(event) => setPassword(event.target.value)} />
      </label>
      <button type="submit" className="button" disabled={busy || name.trim() === "" || password === ""}>
        {said.go}
      </button>
      {problems}
      <p className="faint">{said.shared}</p>
    </form>
  );
}
