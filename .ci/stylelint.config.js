// What our styles are held to: the standard rules, and colours and sizes by their names, which
// stand in :root of theme.css. From the top:
// .ci/node_modules/.bin/stylelint --config .ci/stylelint.config.js "portal/static/portal/*.css"

const SPACES = "/^(margin|padding|gap|row-gap|column-gap|scroll-margin|scroll-padding)/";
const SMALL_REM = "/(^|[\\s(-])(0?\\.\\d+|1(\\.[0-5]\\d*)?)rem/"; // larger ones measure one thing

export default {
  extends: ["stylelint-config-standard"],
  reportNeedlessDisables: true,
  rules: {
    "color-no-hex": true,
    "color-named": "never",
    "function-disallowed-list": [
      "/^rgb/",
      "/^hsl/",
      "/^hwb/",
      "/^lab/",
      "/^lch/",
      "/^oklab/",
      "/^oklch/",
      "color",
      "color-mix",
    ],
    "declaration-property-value-disallowed-list": {
      [SPACES]: [SMALL_REM, "/\\dpx/"],
      "/^(border|outline)/": ["/\\d(rem|px)/"],
      "box-shadow": ["/\\dpx/"],
      "font-size": ["/\\d(rem|px)/"],
    },
    // A phone of 2021 knows min-width and not yet (width >= 48rem).
    "media-feature-range-notation": "prefix",
    // Safari knows these by their old names only.
    "property-no-vendor-prefix": [true, { ignoreProperties: ["user-select", "text-size-adjust"] }],
    // The files go by subject: a later rule of another subject may well be the weaker one.
    "no-descending-specificity": null,
  },
};
