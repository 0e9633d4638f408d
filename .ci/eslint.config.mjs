// Rules for what runs in browsers; the linter and its tables lie where .ci/javascript puts them.
import { createRequire } from 'node:module'

const from = createRequire(`${process.cwd()}/.js-tools/`)
const js = from('@eslint/js'), globals = from('globals')

export default [
  js.configs.recommended,
  {
    languageOptions: { globals: { ...globals.browser, Bokeh: 'readonly' } },
    rules: {
      // what is left out of a message is named on purpose
      'no-unused-vars': ['error', { ignoreRestSiblings: true }],
      eqeqeq: ['error', 'smart'], 'no-var': 'error', 'no-shadow-restricted-names': 'error',
      // what prettier lays out over eighty lines is some sixty of thought: past that a function has a second duty
      'max-lines-per-function': ['error', { max: 80, skipBlankLines: true, skipComments: true }],
    },
  },
  { files: ['**/*worker.js'], languageOptions: { globals: { ...globals.serviceworker, ...globals.worker } } },
]
