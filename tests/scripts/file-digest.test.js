// The fingerprint of a file. The digests are those of FIPS 180-4's examples (NIST, SHA256.pdf).

import assert from "node:assert/strict";
import { describe, it } from "node:test";
import { webcrypto } from "node:crypto";

import { digestOf, MOST_BYTES } from "../../portal/static/portal/file-digest.js";

describe("the digest of a file", () => {
  it("is its SHA-256 in hex", async () => {
    const abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    assert.equal(await digestOf(new Blob(["abc"]), webcrypto.subtle), abc);
  });

  it("is none where the browser can't work it out", async () => {
    assert.equal(await digestOf({ size: MOST_BYTES + 1 }, webcrypto.subtle), null);
    assert.equal(await digestOf(new Blob(["abc"]), null), null);
  });
});
