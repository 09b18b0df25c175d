// What our scripts are held to. From the top: .ci/node_modules/.bin/eslint -c .ci/eslint.config.js .
import js from "@eslint/js";
import globals from "globals";

const SCRIPTS = "portal/static/portal/**/*.js";
const TESTS = "tests/scripts/**/*.js";

export default [
  { ignores: ["**/node_modules/", "**/.venv/", "staticfiles/", "data/"] },
  { files: [SCRIPTS, TESTS, ".ci/*.js"], ...js.configs.recommended },
  {
    files: [SCRIPTS, TESTS, ".ci/*.js"],
    languageOptions: { ecmaVersion: 2023, sourceType: "module" },
    linterOptions: { reportUnusedDisableDirectives: "error" },
    rules: {
      curly: ["error", "multi-line"],
      eqeqeq: "error",
      "no-else-return": "error",
      "no-implicit-coercion": "error",
      "no-shadow": "error",
      "no-unused-vars": ["error", { args: "after-used", caughtErrors: "all" }],
      "no-use-before-define": ["error", { functions: false, classes: false, variables: false }],
      "no-var": "error",
      "object-shorthand": "error",
      "prefer-const": "error",
      "prefer-template": "error",
    },
  },
  {
    files: [SCRIPTS],
    languageOptions: { globals: globals.browser },
    rules: {
      // One file talks to the server and to the browser's store (net.js): it knows how both fail.
      "no-restricted-globals": [
        "error",
        { name: "fetch", message: "Send through net.js." },
        { name: "XMLHttpRequest", message: "Send through net.js." },
        { name: "localStorage", message: "Keep through net.js." },
        { name: "sessionStorage", message: "Keep through net.js." },
        { name: "indexedDB", message: "Keep through net.js." },
      ],
      "no-restricted-properties": [
        "error",
        { object: "document", property: "cookie", message: "net.js knows the token." },
        { object: "crypto", property: "randomUUID", message: "newId of net.js does without it." },
        { object: "window", property: "localStorage", message: "Keep through net.js." },
        { object: "window", property: "fetch", message: "Send through net.js." },
      ],
    },
  },
  {
    files: ["portal/static/portal/net.js"],
    rules: { "no-restricted-globals": "off", "no-restricted-properties": "off" },
  },
  { files: [TESTS, ".ci/*.js"], languageOptions: { globals: globals.node } },
];
