// Takes out of the lock file what names a host: where packages come from is each installation's
// own to say, and whom to thank stands in the packages. From the top: node .ci/lock.js

import { readFileSync, writeFileSync } from "node:fs";

const file = new URL("package-lock.json", import.meta.url);
const lock = JSON.parse(readFileSync(file, "utf8"));
for (const entry of Object.values(lock.packages)) {
  delete entry.funding;
  delete entry.resolved;
}
writeFileSync(file, `${JSON.stringify(lock, null, 2)}\n`);
