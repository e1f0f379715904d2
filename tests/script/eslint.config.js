import { fileURLToPath } from "node:url";

import js from "@eslint/js";
import globals from "globals";
import typescript from "typescript-eslint";

/** Recommended rules, and those that catch what the recommended ones let through. */
export default [
  js.configs.recommended,
  {
    files: ["**/*.js"],
    plugins: { "@typescript-eslint": typescript.plugin },
    linterOptions: { reportUnusedDisableDirectives: "error" },
    languageOptions: {
      ecmaVersion: 2022,
      sourceType: "module",
      globals: globals.browser,
      parser: typescript.parser,
      parserOptions: { project: fileURLToPath(new URL("tsconfig.json", import.meta.url)) },
    },
    rules: {
      "@typescript-eslint/await-thenable": "error",
      "@typescript-eslint/no-floating-promises": "error",
      "@typescript-eslint/no-misused-promises": "error",
      "@typescript-eslint/no-unnecessary-condition": "error",
      "@typescript-eslint/only-throw-error": "error",
      "@typescript-eslint/prefer-promise-reject-errors": "error",
      "@typescript-eslint/switch-exhaustiveness-check": "error",
      "array-callback-return": "error",
      complexity: ["error", 16],
      "consistent-return": "error",
      "default-param-last": "error",
      eqeqeq: "error",
      "max-lines": ["error", 400],
      "max-params": ["error", 6],
      "no-eval": "error",
      "no-implied-eval": "error",
      "no-loop-func": "error",
      "no-param-reassign": "error",
      "no-redeclare": ["error", { builtinGlobals: false }],
      "no-restricted-properties": [
        "error",
        { property: "innerHTML", message: "Text is set as text." },
        { property: "outerHTML", message: "Text is set as text." },
        { property: "insertAdjacentHTML", message: "Text is set as text." },
        { property: "write", object: "document", message: "Text is set as text." },
      ],
      "no-self-compare": "error",
      "no-shadow": "error",
      "no-undef-init": "error",
      "no-unmodified-loop-condition": "error",
      "no-unused-expressions": "error",
      "no-use-before-define": ["error", { functions: false, classes: true, variables: false }],
      "no-var": "error",
      "prefer-const": "error",
      radix: "error",
    },
  },
];
