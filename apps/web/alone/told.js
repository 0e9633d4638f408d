// What a person said in a lesson taken alone, and where they are: kept in this browser. Only this module changes it.

import { isRight } from '../answers.js'
import { kept } from '../dom.js'
import { lines as drawnLines } from '../guesses.js'

export const slug = document.getElementById('app').dataset.slug

export let lesson = null
export let told = null
let key = ''

// A lesson that came, with what was said of it here before.
export function begin(given) {
  lesson = given
  key = `gw-alone-${lesson.digest}`
  // Asked again some days later, one begins anew each time.
  const before = lesson.quiz === 'again' ? null : kept.get(key)
  told = { at: 0, far: 0, steps: {}, own: '', brief: false, lines: {}, ...before }
  drawnLines.keep(told.lines, keepLines)
  told.at = Math.min(Math.max(0, told.at), lesson.steps.length + 1)
}

export function beginAnew() {
  told = { at: 0, far: 0, steps: {}, own: '', brief: told.brief, lines: {} }
  drawnLines.keep({}, keepLines)
  keep()
}

export function note(change) {
  Object.assign(told, change)
  keep()
}
const keepLines = lines => note({ lines })

const keep = () => {
  kept.set(key, told)
  kept.set(`gw-at-${slug}`, {
    at: Math.min(told.far, lesson.steps.length),
    of: lesson.steps.length,
    done: told.far > lesson.steps.length,
    on: Date.now(),
  })
  tell()
}
// Whoever counts what was done, such as a course that this lesson is part of, hears it here.
function tell() {
  const asked = lesson.steps.map((data, i) => [data, i]).filter(([data, i]) => data.question && data.answer && inside(i + 1))
  window.dispatchEvent(
    new CustomEvent('gw-told', {
      detail: {
        at: told.at,
        of: lesson.steps.length,
        done: told.far > lesson.steps.length,
        asked: asked.length,
        right: asked.filter(([data, i]) => isRight(data.question, lastSaid(i).answer, data.answer.right)).length,
      },
    }),
  )
}
export const of = i => told.steps[i] ?? {}
export const put = (i, change) => note({ steps: { ...told.steps, [i]: { ...of(i), ...change } } })

// ---- which steps, and which turn of a step -----------------------------------------------------------------------------

export const phasesOf = step =>
  step.question && step.kind === 'ask'
    ? ['vote', ...(lesson.quiz ? [] : [...(step.look?.pictures?.length ? ['look'] : []), 'reveal'])]
    : ['show']

// A second guess is a by-way of the look: what was seen may change a mind before anything is explained.
export const phaseOf = (i, phases) =>
  of(i).phase === 'again' && phases.includes('look') && of(i).answer
    ? 'again'
    : phases.includes(of(i).phase)
      ? of(i).phase
      : phases[0]
const lastSaid = i => of(i).second ?? of(i)

// The short version goes through its own steps only; all others can still be chosen.
// A course takes some steps of a lesson: its link names them.
const asked = (new URLSearchParams(location.search).get('steps') ?? '').split(',').map(Number).filter(Boolean)
export const chosen = () => asked.filter(at => at <= lesson.steps.length)
export const way = () => (chosen().length ? chosen() : lesson.short)
export const brief = () => (told.brief || chosen().length > 0) && way()?.length > 0
export const inside = at => !brief() || way().includes(at)
export function along(by) {
  let at = told.at + by
  while (at > 0 && at <= lesson.steps.length && !inside(at)) at += by
  return at
}
export const lengthOf = numbers => numbers.reduce((sum, n) => sum + lesson.steps[n - 1].minutes, 0)
