/**
 * A roster app in TypeScript over the generated types: people, one session, the load read back, a list in pages, a refusal.
 *
 * Every value has a type (`tsc --strict`); tests/clients/run.py generates the types, starts the service and runs this.
 */

import assert from "node:assert/strict";
import createClient, { type Client } from "openapi-fetch";
import type { components, paths } from "./plimsoll.js";

type Athlete = components["schemas"]["AthleteAnswer"];
type Report = components["schemas"]["SessionInput"];

function setting(name: string): string {
  const value = process.env[name];
  assert(value, `${name} is not set`);
  return value;
}

const path = { club_id: setting("PLIMSOLL_CLUB") };

function connect(token: string): Client<paths> {
  return createClient<paths>({
    baseUrl: setting("PLIMSOLL_URL"),
    headers: { Authorization: `Bearer ${setting(token)}` },
  });
}

async function addPeople(admin: Client<paths>): Promise<Athlete[]> {
  const squad = await admin.POST("/v1/clubs/{club_id}/squads", {
    params: { path },
    body: { name: "U16", external_id: "U16" },
  });
  assert(squad.data, squad.error?.detail);
  const people: Athlete[] = [];
  for (const code of ["P-01", "P-02", "P-03"]) {
    const athlete = await admin.POST("/v1/clubs/{club_id}/athletes", {
      params: { path },
      body: { external_id: code, display_name: code, joined_on: "2026-01-01", squads: [squad.data.squad_id] },
    });
    assert(athlete.data, athlete.error?.detail);
    people.push(athlete.data);
  }
  return people;
}

function report(athlete: Athlete, rpe: number): Report {
  return {
    athlete_id: athlete.athlete_id,
    started_at: "2026-11-17T17:30:00+01:00",
    minutes: 90,
    rpe,
    setting: "club",
    kind: "practice",
  };
}

async function logASession(app: Client<paths>, athlete: Athlete): Promise<void> {
  const stored = await app.POST("/v1/clubs/{club_id}/sessions", {
    params: { path, header: { "Idempotency-Key": "typescript-1" } },
    body: report(athlete, 6),
  });
  assert(stored.data, stored.error?.detail);
  assert.equal(stored.response.status, 201);
  assert.equal(stored.data.counted.load_au, 540);
}

async function readItBack(coach: Client<paths>, athlete: Athlete): Promise<void> {
  const load = await coach.GET("/v1/clubs/{club_id}/athletes/{athlete_id}/load", {
    params: { path: { ...path, athlete_id: athlete.athlete_id }, query: { from: "2026-11-17", to: "2026-11-17" } },
  });
  assert(load.data, load.error?.detail);
  const [day, ...others] = load.data.days;
  assert(day && others.length === 0);
  assert.deepEqual([day.date, day.load_au, day.sessions], ["2026-11-17", 540, 1]);
  assert.equal(day.acute_7d_au.point, 540);
  // A figure that cannot be computed is null with a reason.
  assert(day.monotony.sample.point !== null || day.monotony.reason !== null);
}

async function pageThrough(coach: Client<paths>): Promise<(string | null)[]> {
  const codes: (string | null)[] = [];
  let after: string | undefined;
  for (;;) {
    const page = await coach.GET("/v1/clubs/{club_id}/athletes", { params: { path, query: { limit: 2, after } } });
    assert(page.data, page.error?.detail);
    assert(page.data.items.length <= 2);
    codes.push(...page.data.items.map((athlete) => athlete.external_id));
    if (page.data.next === null) return codes;
    after = page.data.next;
  }
}

async function beRefused(app: Client<paths>, athlete: Athlete): Promise<void> {
  const refused = await app.POST("/v1/clubs/{club_id}/sessions", { params: { path }, body: report(athlete, 11) });
  assert(refused.error);
  assert.deepEqual([refused.error.status, refused.error.code], [422, "invalid"]);
  const [error, ...others] = refused.error.errors ?? [];
  assert(error && others.length === 0);
  assert.deepEqual([error.pointer, error.code, error.given], ["/rpe", "rpe_out_of_range", 11]);
}

const [admin, app, coach] = [connect("PLIMSOLL_ADMIN"), connect("PLIMSOLL_APP"), connect("PLIMSOLL_COACH")];
const people = await addPeople(admin);
const first = people[0];
assert(first);
await logASession(app, first);
await readItBack(coach, first);
assert.deepEqual(await pageThrough(coach), ["P-01", "P-02", "P-03"]);
await beRefused(app, first);
console.log("TypeScript: people added, a session logged and read back, a list paged, a refusal understood");
