// Where the room stands, as the page that leads it knows it, and the ways on from there. Only this module changes it.

import { code, kept } from '../dom.js'

export const room = code()
const KEY = `gw-room-${room}`
export const token = kept.get(KEY)?.token ?? kept.get(KEY)

// The line to the room, its lesson, what it told last.
export let line = null
export let lesson = null
export let state = null
// Asked at the end of the way on, whether the room is to end; says on the page what is in the way.
let atEnd = null
export let tell = null

export function leadBy(opened, ending, telling) {
  line = opened
  atEnd = ending
  tell = telling
}
export function learn(given) {
  lesson = given
}
export function stand(next) {
  state = next
}

export const COMES = {
  talk: 'talk it over',
  again: 'ask again',
  bars: 'show the room\u2019s answers',
  look: 'show the picture',
  reveal: 'show what the model gives',
}

// What each step was used for stands in the room's own clock.
export const seen = i => Object.keys(state.clock?.spent ?? {}).some(place => place.startsWith(`${i} `)) || i === state.step

// ---- going on -----------------------------------------------------------------------------------------------------

export function phases(i) {
  return lesson.steps[i].phases
}
const short = () => state.brief && lesson.short?.length > 0
export const inside = i => !short() || lesson.short.includes(i + 1)
function stepAlong(way) {
  let i = state.step + way
  while (i >= 0 && i < lesson.steps.length && !inside(i)) i += way
  return i >= 0 && i < lesson.steps.length ? i : null
}
export const minutesOf = () => lesson.steps.reduce((sum, step, i) => sum + (inside(i) ? step.room_minutes : 0), 0)
function next() {
  const list = phases(state.step),
    at = list.indexOf(state.phase)
  if (at < list.length - 1) return { step: state.step, phase: list[at + 1] }
  const step = stepAlong(1)
  return step === null ? null : { step, phase: phases(step)[0] }
}
export function back() {
  const list = phases(state.step),
    at = list.indexOf(state.phase)
  if (at > 0) return { step: state.step, phase: list[at - 1] }
  const step = stepAlong(-1)
  return step === null ? null : { step, phase: phases(step).at(-1) }
}
export function go(place) {
  if (!place || state?.ended) return
  line.send({ type: 'go', ...place })
}
export function onward() {
  if (state?.ended) return
  if (state.gathering) line.send({ type: 'begin' })
  else if (next()) go(next())
  else atEnd()
}
export function nextWords() {
  if (state.gathering) return `Begin: ${lesson.steps[state.step].title}`
  const to = next()
  if (!to) return 'End, and save the report'
  if (to.step === state.step) return `Next: ${COMES[to.phase] ?? to.phase}`
  return `Next: ${lesson.steps[to.step].title}`
}
