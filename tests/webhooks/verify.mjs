// Judges the messages of cases.json with the verifier published on npm.
import { readFileSync } from "node:fs";
import { Webhook } from "standardwebhooks";

function passes({ secret, body, headers }) {
  try {
    new Webhook(secret).verify(body, headers);
    return true;
  } catch {
    return false;
  }
}

const cases = JSON.parse(readFileSync("cases.json", "utf8"));
const wrong = cases.filter((one) => passes(one) !== one.passes).map((one) => one.what);
if (wrong.length > 0) {
  console.error(`the verifier of npm judges otherwise: ${wrong.join(", ")}`);
  process.exit(1);
}
