// The one way to the server, held against a server that really turns away, hangs and cuts off.

import assert from "node:assert/strict";
import { once } from "node:events";
import { createServer } from "node:http";
import { afterEach, beforeEach, describe, it } from "node:test";

import {
  inWords,
  isThere,
  keeper,
  newId,
  pauseAfter,
  postData,
  postForm,
  postQuietly,
  store,
  takeOverToken,
  token,
  upload,
  whatIsWrong,
} from "../../portal/static/portal/net.js";
import { Shelf, page, shelve } from "./browser.js";

const FULL = { "Content-Type": "text/html", "Retry-After": "300" };

let server;
let asked;
let answers; // what it says to each request in turn; null: never anything, "cut": half an answer

function heard(request) {
  return new Promise((resolve) => {
    let body = "";
    request.on("data", (part) => {
      body += part;
    });
    request.on("end", () => resolve({ method: request.method, headers: request.headers, body }));
  });
}

beforeEach(async () => {
  page({ cookie: "theme=x; __Host-csrftoken=from-cookie", tokens: ["from-form"] });
  asked = [];
  answers = [];
  server = createServer(async (request, response) => {
    asked.push(await heard(request));
    const answer = answers.shift();
    if (answer === null) return;
    const { status = 200, headers = {}, body = "" } = answer === "cut" ? {} : answer;
    if (answer === "cut") {
      response.writeHead(200, { "Content-Type": "application/json", "Content-Length": "100" });
      response.write('{"go": "/ne');
      setTimeout(() => response.destroy(), 20);
      return;
    }
    response.writeHead(status, { "Content-Type": "text/html", ...headers });
    response.end(typeof body === "string" ? body : JSON.stringify(body));
  });
  server.listen(0, "127.0.0.1");
  await once(server, "listening");
});

afterEach(async () => {
  server.closeAllConnections();
  server.close();
  await once(server, "close");
});

const address = () => `http://127.0.0.1:${server.address().port}/here/`;
const json = (body, status = 200) => ({
  status,
  body,
  headers: { "Content-Type": "application/json; charset=utf-8" },
});

describe("a form", () => {
  const form = () => new URLSearchParams({ note: "By the tap" });

  it("is told where to go on to", async () => {
    answers = [json({ go: "/next/", signed_out: false })];
    assert.deepEqual(await postForm(address(), form()), { go: "/next/" });
    assert.equal(asked[0].headers["x-answer"], "address");
    assert.equal(asked[0].body, "note=By+the+tap");
  });

  it("is not done when the person was signed out", async () => {
    answers = [json({ go: "/sign-in/", signed_out: true })];
    assert.deepEqual(await postForm(address(), form()), { signedOut: "/sign-in/" });
  });

  it("comes back when something has to be put right", async () => {
    answers = [
      { status: 200, body: "<p>This field is required" },
      { status: 403 },
      { status: 404 },
    ];
    for (let count = 0; count < 3; count += 1) {
      assert.deepEqual(await postForm(address(), form()), { putRight: true });
    }
  });

  it("is told when the portal wants it again", async () => {
    answers = [{ status: 503, headers: { "Retry-After": "7" } }, { status: 502 }];
    assert.deepEqual(await postForm(address(), form()), { failed: 503, retryAfter: "7" });
    assert.deepEqual(await postForm(address(), form()), { failed: 502, retryAfter: null });
  });

  it("is put right by the person up to 499, and sent again by itself from 500", async () => {
    answers = [{ status: 499 }, { status: 500 }];
    assert.deepEqual(await postForm(address(), form()), { putRight: true });
    assert.deepEqual(await postForm(address(), form()), { failed: 500, retryAfter: null });
  });

  it("gets through at the second try after a 503", async () => {
    answers = [{ status: 503, headers: { "Retry-After": "1" } }, json({ go: "/next/" })];
    const first = await postForm(address(), form());
    assert.ok(pauseAfter(first.failed, first.retryAfter, 0) > 0);
    assert.deepEqual(await postForm(address(), form()), { go: "/next/" });
    assert.equal(asked.length, 2);
    assert.equal(asked[0].body, asked[1].body);
  });

  it("does not wait for an answer without end", async () => {
    answers = [null];
    assert.deepEqual(await postForm(address(), form(), 100), { noAnswer: true });
    assert.equal(asked.length, 1);
  });

  it("has no answer when the answer was cut off", async () => {
    answers = ["cut"];
    assert.deepEqual(await postForm(address(), form()), { noAnswer: true });
  });

  it("has no answer where nobody listens", async () => {
    const gone = address();
    server.close();
    await once(server, "close");
    assert.deepEqual(await postForm(gone, form()), { noAnswer: true });
    server.listen(0, "127.0.0.1");
    await once(server, "listening");
  });
});

describe("data", () => {
  it("carries the token and brings the answer", async () => {
    answers = [json({ version: 3 })];
    const { status, answer } = await postData(address(), { shapes: [], at: NaN });
    assert.deepEqual([status, answer], [200, { version: 3 }]);
    assert.equal(asked[0].headers["x-csrftoken"], "from-cookie");
    assert.equal(asked[0].headers["content-type"], "application/json");
    assert.deepEqual(JSON.parse(asked[0].body), { shapes: [], at: null });
  });

  it("brings what was wrong with it", async () => {
    answers = [json({ error: "Mark the corners" }, 400)];
    const { status, answer } = await postData(address(), {});
    assert.deepEqual([status, answer.error], [400, "Mark the corners"]);
  });

  it("that is answered with a page came from somebody signed out", async () => {
    answers = [{ status: 200, body: "<h1>Sign in" }];
    assert.equal((await postData(address(), {})).status, 403);
    answers = [{ status: 302, headers: { Location: "/sign-in/" } }, json({ not: "meant" })];
    assert.deepEqual(await postData(address(), {}), { status: 403, answer: {}, retryAfter: null });
  });

  it("is told of a full disk", async () => {
    answers = [{ status: 507, headers: FULL }];
    const result = await postData(address(), {});
    assert.deepEqual(result, { status: 507, answer: {}, retryAfter: "300" });
    assert.match(whatIsWrong(result.status), /disk is full/);
  });

  it("has status 0 without an answer", async () => {
    answers = [null, "cut"];
    const nothing = { status: 0, answer: {}, retryAfter: null };
    assert.deepEqual(await postData(address(), {}, 100), nothing);
    assert.deepEqual(await postData(address(), {}), nothing);
    assert.equal(whatIsWrong(0), "No connection.");
  });
});

describe("a file", () => {
  const sent = [];

  // As much of a browser's XMLHttpRequest as is used: how far it is, and that it ended.
  class Request extends EventTarget {
    upload = new EventTarget();
    status = 200;
    response = { id: "7" };

    open(...how) {
      this.how = how;
    }

    send(body) {
      sent.push({ how: this.how, body, timeout: this.timeout, type: this.responseType });
      for (const [lengthComputable, loaded] of [
        [false, 10],
        [true, 50],
        [true, 200],
      ]) {
        const progress = { lengthComputable, loaded, total: 200 };
        this.upload.dispatchEvent(Object.assign(new Event("progress"), progress));
      }
      this.dispatchEvent(new Event("loadend"));
    }

    getResponseHeader(name) {
      return name === "Retry-After" ? "30" : null;
    }
  }

  it("goes with the token and what belongs to it, and tells how far it is", async () => {
    globalThis.XMLHttpRequest = Request;
    const shares = [];
    const result = await upload("/photos/", { id: "7", photo: "bytes" }, (share) => {
      shares.push(share);
    });
    assert.deepEqual(result, { status: 200, answer: { id: "7" }, retryAfter: "30" });
    assert.deepEqual(shares, [0.25, 1]);
    const [{ how, body, timeout, type }] = sent;
    assert.deepEqual([how, timeout, type], [["POST", "/photos/"], 180_000, "json"]);
    assert.deepEqual(
      [...body],
      [
        ["csrfmiddlewaretoken", "from-cookie"],
        ["id", "7"],
        ["photo", "bytes"],
      ],
    );
  });
});

describe("a wish that needs no answer", () => {
  it("carries the token", async () => {
    answers = [{ status: 204 }];
    assert.equal(await postQuietly(address(), { id: "7" }), true);
    assert.match(asked[0].body, /name="csrfmiddlewaretoken"\r\n\r\nfrom-cookie\r\n/);
    assert.match(asked[0].body, /name="id"\r\n\r\n7\r\n/);
  });

  it("never throws", async () => {
    answers = [{ status: 500 }];
    assert.equal(await postQuietly(address()), false);
    assert.equal(await postQuietly("http://127.0.0.1:1/"), false);
  });
});

it("asks whether a picture is there by now", async () => {
  answers = [{ status: 404 }, { status: 200, body: "picture" }];
  assert.equal(await isThere(address()), false);
  assert.equal(await isThere(address()), true);
  assert.equal(await isThere("http://127.0.0.1:1/"), false);
});

describe("the token", () => {
  it("is the cookie's, which another tab may have changed", () => {
    assert.equal(token(), "from-cookie");
  });

  it("is the form's where scripts see no cookie", () => {
    page({ cookie: "xcsrftoken=other; a=csrftoken", tokens: ["from-form"] });
    assert.equal(token(), "from-form");
  });

  it("is nothing on a page without forms", () => {
    page();
    assert.equal(token(), "");
  });

  it("is taken over by every form", () => {
    const inputs = page({ cookie: "csrftoken=new; b=c", tokens: ["old", "old"] });
    assert.equal(takeOverToken(), "new");
    assert.deepEqual(inputs, [{ value: "new" }, { value: "new" }]);
  });

  it("is left as it came where there is no cookie", () => {
    const inputs = page({ tokens: ["old"] });
    assert.equal(takeOverToken(), "");
    assert.deepEqual(inputs, [{ value: "old" }]);
  });
});

describe("an id", () => {
  // from memory: RFC 9562, 5.4: version 4 in the 13th digit, variant 10 in the two bits of the 17th
  const UUID_4 = /^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/;

  it("is a random UUID, each another", () => {
    const ids = Array.from({ length: 100 }, newId);
    for (const id of ids) assert.match(id, UUID_4);
    assert.equal(new Set(ids).size, 100);
  });

  it("is one also where the browser makes none", () => {
    const { crypto } = globalThis;
    const poor = { getRandomValues: (bytes) => bytes.map((_, index) => index) };
    Object.defineProperty(globalThis, "crypto", { configurable: true, value: poor });
    try {
      assert.equal(newId(), "00010203-0405-4607-8809-0a0b0c0d0e0f");
    } finally {
      Object.defineProperty(globalThis, "crypto", { configurable: true, value: crypto });
    }
  });
});

describe("sending again", () => {
  // from memory: RFC 9110, 15.6.3 to 15.6.5 (502, 503, 504) and RFC 4918, 11.5 (507)
  const passing = [502, 503, 504, 507];

  it("is of use only for what passes by itself", () => {
    for (const status of passing) assert.ok(pauseAfter(status, null, 0) > 0);
    for (const status of [0, 200, 302, 400, 401, 403, 404, 409, 413, 500, 501]) {
      assert.equal(pauseAfter(status, "30", 0), 0);
    }
  });

  it("keeps to the time that it is told, and a little more", () => {
    for (let count = 0; count < 50; count += 1) {
      const pause = pauseAfter(503, "20", 0);
      assert.ok(pause >= 20 && pause <= 25, `${pause}`);
    }
  });

  it("waits longer each time, and never beyond ten minutes", () => {
    const least = (tries, told) => {
      const pauses = Array.from({ length: 200 }, () => pauseAfter(503, told, tries));
      return Math.min(...pauses);
    };
    for (const told of ["4", null]) {
      const pauses = [0, 1, 2, 3].map((tries) => least(tries, told));
      assert.deepEqual(
        pauses,
        [...pauses].sort((a, b) => a - b),
      );
      assert.equal(new Set(pauses).size, 4, `${pauses}`);
    }
    assert.equal(pauseAfter(503, "86400", 0), 600);
    assert.equal(pauseAfter(503, "30", 1000), 600);
  });

  it("has pauses of its own where it is told none", () => {
    for (const [tries, least] of [5, 15, 30, 60, 60, 60].entries()) {
      const pauses = Array.from({ length: 300 }, () => pauseAfter(502, null, tries));
      assert.ok(Math.min(...pauses) >= least && Math.min(...pauses) <= least * 1.05 + 1);
      assert.ok(Math.max(...pauses) <= Math.ceil(least * 1.25));
      assert.ok(Math.max(...pauses) >= least * 1.2);
    }
  });

  it("takes no nonsense for a time", () => {
    for (const told of [null, undefined, "", "soon", "-5", "0"]) {
      const pause = pauseAfter(503, told, 0);
      assert.ok(pause >= 5 && pause <= 7, `${told}: ${pause}`);
    }
  });

  it("does not bring all phones back together", () => {
    const pauses = Array.from({ length: 100 }, () => pauseAfter(503, "100", 0));
    assert.ok(new Set(pauses).size > 5);
  });

  it("says the time in words", () => {
    assert.deepEqual([1, 2, 89, 90, 600].map(inWords), [
      "1 second",
      "2 seconds",
      "89 seconds",
      "2 minutes",
      "10 minutes",
    ]);
  });
});

describe("what the browser keeps", () => {
  it("comes back as it was", () => {
    shelve(new Shelf());
    assert.equal(store.write("kept:1", { note: "By the tap" }), true);
    assert.deepEqual(store.read("kept:1"), { note: "By the tap" });
    assert.deepEqual(store.names("kept:"), ["kept:1"]);
    assert.deepEqual(store.names("other:"), []);
    store.drop("kept:1");
    assert.equal(store.read("kept:1"), null);
  });

  it("has one place for one thing", () => {
    shelve(new Shelf({ other: "1" }));
    const one = keeper("one");
    assert.equal(one.read(), null);
    assert.equal(one.write([1, 2]), true);
    assert.deepEqual(one.read(), [1, 2]);
    one.drop();
    assert.equal(one.read(), null);
    assert.equal(globalThis.localStorage.other, "1");
  });

  it("is said not to be kept where the store is full", () => {
    const full = new Shelf({ "kept:1": '"before"' });
    Object.defineProperty(full, "setItem", {
      value: () => {
        throw new Error("QuotaExceededError");
      },
    });
    shelve(full);
    assert.equal(store.write("kept:1", "now"), false);
    assert.equal(store.read("kept:1"), "before");
  });

  it("is nothing where the store is forbidden or absent", () => {
    const forbidden = () => {
      throw new Error("SecurityError");
    };
    for (const shelf of [forbidden, null, undefined]) {
      shelve(shelf);
      assert.equal(store.read("kept:1"), null);
      assert.equal(store.write("kept:1", "now"), false);
      assert.doesNotThrow(() => store.drop("kept:1"));
      assert.deepEqual(store.names("kept:"), []);
    }
  });

  it("is nothing where somebody else wrote there", () => {
    shelve(new Shelf({ "kept:1": "{not json" }));
    assert.equal(store.read("kept:1"), null);
  });
});
