/**
 * Club IT's afternoon in TypeScript over the generated types: a roster tried and taken, a calendar, sessions in bulk, the load, what
 * changed.
 *
 * Every value has a type (`tsc --strict`); tests/clients/run.py generates the types, starts the service and runs this.
 */

import assert from "node:assert/strict";
import createClient, { type Client } from "openapi-fetch";
import type { components, paths } from "./plimsoll.js";

type Roster = components["schemas"]["RosterInput"];
type Report = components["schemas"]["SessionInput"];

function setting(name: string): string {
  const value = process.env[name];
  assert(value, `${name} is not set`);
  return value;
}

const path = { club_id: setting("PLIMSOLL_CLUB") };
const codes = ["P-21", "P-22", "P-23"];
// A Tuesday, and the Tuesday before.
const practices = ["2026-11-17", "2026-11-10"];
const calendar = [
  "BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Nordvang//Hall//EN", "BEGIN:VEVENT", "UID:practice-u14@nordvang.example",
  "DTSTAMP:20261001T080000Z", "DTSTART;TZID=Europe/Copenhagen:20261110T173000", "DURATION:PT90M", "RRULE:FREQ=WEEKLY;COUNT=4",
  "SUMMARY:U14 practice", "END:VEVENT", "END:VCALENDAR", "",
].join("\r\n");

function connect(token: string): Client<paths> {
  return createClient<paths>({
    baseUrl: setting("PLIMSOLL_URL"),
    headers: { Authorization: `Bearer ${setting(token)}` },
  });
}

function roster(): Roster {
  const athletes = codes.map((code) => ({
    external_id: code,
    display_name: code,
    birth_date: "2012-03-14",
    memberships: [{ squad_external_id: "u14", from: "2026-08-03", primary: true }],
    guardians: [{ external_id: `G-${code}` }],
  }));
  return { squads: [{ external_id: "u14", name: "U14 girls" }], athletes };
}

/** Tried first; the trial says what the import then does. The same again changes nothing. */
async function bringPeople(app: Client<paths>): Promise<[string, string]> {
  const [tried, taken, again] = [await imported(app, true), await imported(app, false), await imported(app, false)];
  for (const [answer, expected] of [[tried, [3, 0, 0]], [taken, [3, 0, 0]], [again, [0, 3, 0]]] as const) {
    assert.deepEqual([answer.created, answer.unchanged, answer.rejected], expected);
  }
  const [squad, athlete] = [taken.squads[0]?.squad_id, taken.athletes[0]?.athlete_id];
  assert(squad && athlete);
  return [squad, athlete];
}

async function imported(app: Client<paths>, dry_run: boolean) {
  const query = { mode: "delta", dry_run };
  const { data, error } = await app.POST("/v1/clubs/{club_id}/roster/imports", { params: { path, query }, body: roster() });
  // Its other form is the file of rejected rows, as CSV.
  assert(data && typeof data !== "string", error?.detail);
  assert.equal(data.dry_run, dry_run);
  return data;
}

async function bringSchedule(app: Client<paths>, squad: string): Promise<void> {
  const practice = { text_contains: "practice", setting: "club", kind: "practice", squads: [squad], intended_rpe: 6 };
  const made = await app.POST("/v1/clubs/{club_id}/calendars", { params: { path }, body: { name: "Hall", rules: [practice] } });
  assert(made.data, made.error?.detail);
  const sent = await app.PUT("/v1/clubs/{club_id}/calendars/{calendar_id}", {
    params: { path: { ...path, calendar_id: made.data.calendar_id }, header: { "If-Match": `"${made.data.version}"` } },
    headers: { "Content-Type": "text/calendar" },
    body: calendar,
    bodySerializer: (text) => text,
  });
  assert(sent.data, sent.error?.detail);
  const reading = sent.data.reading;
  assert.deepEqual([reading?.created, reading?.unmapped, reading?.rejected], [4, 0, 0]);
}

async function reportSessions(app: Client<paths>): Promise<void> {
  const sessions: Report[] = codes.flatMap((code) =>
    practices.map((day) => ({
      external_id: `${code}-${day}`,
      athlete_external_id: code,
      started_at: `${day}T17:30:00+01:00`,
      given_at: `${day}T19:10:00+01:00`,
      minutes: 90,
      rpe: 6,
      setting: "club",
      kind: "practice",
    })),
  );
  for (const expected of [[6, 6, 0, 0], [6, 0, 6, 0]]) {
    const { data, error } = await app.POST("/v1/clubs/{club_id}/sessions/bulk", { params: { path }, body: { sessions } });
    // Its other form is a line of NDJSON.
    assert(data && "rows" in data, error?.detail);
    assert.deepEqual([data.rows, data.accepted, data.unchanged, data.rejected], expected);
  }
}

async function readLoadOf(coach: Client<paths>, athlete: string): Promise<void> {
  const load = await coach.GET("/v1/clubs/{club_id}/athletes/{athlete_id}/load", {
    params: { path: { ...path, athlete_id: athlete }, query: { from: "2026-11-10", to: "2026-11-17" } },
  });
  assert(load.data, load.error?.detail);
  const trained = load.data.days.filter((day) => day.sessions > 0);
  assert.deepEqual(trained.map((day) => day.load_au), [540, 540]);
}

/** What changed since, by kind, to the end; and the cursor to go on from. */
async function follow(app: Client<paths>, after?: string): Promise<[string[], string]> {
  const kinds: string[] = [];
  for (;;) {
    const page = await app.GET("/v1/clubs/{club_id}/changes", { params: { path, query: { limit: 5, after } } });
    assert(page.data && "items" in page.data, page.error?.detail);
    kinds.push(...page.data.items.map((change) => change.kind));
    assert(page.data.next);
    after = page.data.next;
    if (!page.data.more) return [kinds, after];
  }
}

const [app, coach] = [connect("PLIMSOLL_APP"), connect("PLIMSOLL_COACH")];
const [squad, athlete] = await bringPeople(app);
await bringSchedule(app, squad);
const [kinds, cursor] = await follow(app);
for (const kind of ["athlete", "squad", "membership", "event"]) assert(kinds.includes(kind), kinds.join());
await reportSessions(app);
await readLoadOf(coach, athlete);
assert.deepEqual((await follow(app, cursor))[0], Array<string>(6).fill("session"));
console.log("TypeScript: a roster tried and imported, a calendar sent, sessions in bulk, the load read, the changes followed");
