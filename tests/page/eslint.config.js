/* What does the linter ask of the page's modules? No global names, nothing unused, no text that is run. */

const browser = Object.fromEntries(["document", "window", "fetch", "console", "matchMedia", "setTimeout", "clearTimeout", "setInterval", "requestAnimationFrame", "performance", "Blob", "FormData", "DOMParser", "ResizeObserver", "Node", "Response"].map((name) => [name, "readonly"]));

export default [
  {
    files: ["**/*.js"],
    languageOptions: { ecmaVersion: 2023, sourceType: "module", globals: browser },
    rules: {
      "no-undef": "error", "no-unused-vars": ["error", { argsIgnorePattern: "^_" }], "no-eval": "error", "no-implied-eval": "error", "no-new-func": "error",
      "no-implicit-globals": "error", "no-var": "error", "prefer-const": "error", eqeqeq: "error", "no-console": "error", "no-shadow": "error", "max-lines": ["error", 249],
      "no-restricted-globals": ["error", "name", "event", "status", "open", "close", "find"],
    },
  },
];
