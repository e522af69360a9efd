import { describe, expect, it } from "vitest";

import { address, match } from "../src/app/router";
import { path } from "../src/data/api";

describe("addresses of pages", () => {
  it("give the values of their places", () => {
    expect(match("/jobs/:job/prove", "/jobs/cap%201/prove")).toEqual({ job: "cap 1" });
    expect(match("/jobs/:job", "/jobs/cap/prove")).toBeUndefined();
    expect(match("/", "/")).toEqual({});
    expect(match("/jobs/:job", "/jobs/%E0%A4%A")).toBeUndefined();
  });
  it("are made from them again", () => {
    expect(address("/jobs/:job/prove", { job: "a/b" }, { line: 7, setup: undefined })).toBe("/jobs/a%2Fb/prove?line=7");
    expect(address("/jobs/:job", { job: "cap" })).toBe("/jobs/cap");
  });
});

describe("addresses of the server", () => {
  it("are filled in, nothing is left open", () => {
    expect(path("GET /api/jobs/{job}/path", { at: { job: "cap 1" }, query: { setup: "first side", revision: undefined } })).toBe(
      "/api/jobs/cap%201/path?setup=first+side",
    );
    expect(() => path("GET /api/jobs/{job}")).toThrow("takes job");
  });
});
