// A lesson as part of a course: begun, done, how far and the share right go to the course's player by the run-time environment of
// SCORM 1.2. What was answered stays in the browser. The lesson works as well where there is no player.

import {} from './alone.js'

const started = Date.now()
let api = null,
  over = false

// The player stands in a window around this one, or in the one that opened it; some browsers do not let other windows be asked.
function findApi(from) {
  for (let at = from, steps = 0; at && steps < 500; at = at.parent, steps++) {
    try {
      if (at.API) return at.API
    } catch {
      return null
    }
    if (at.parent === at) return null
  }
  return null
}
const ask = (name, ...given) => {
  try {
    return String(api?.[name](...given) ?? '')
  } catch {
    return ''
  }
}
const get = what => ask('LMSGetValue', what)
const set = (what, value) => ask('LMSSetValue', what, String(value))

// Hours, minutes and seconds as CMITimespan has them.
function timespan(ms) {
  const s = Math.floor(ms / 1000),
    two = n => String(n).padStart(2, '0')
  return `${String(Math.min(9999, Math.floor(s / 3600))).padStart(4, '0')}:${two(Math.floor(s / 60) % 60)}:${two(s % 60)}`
}

let status = ''
function begin() {
  api = findApi(window) ?? findApi(window.opener)
  if (!api) return
  if (ask('LMSInitialize', '') !== 'true') {
    api = null
    return
  }
  status = get('cmi.core.lesson_status')
  if (!['completed', 'passed'].includes(status)) set('cmi.core.lesson_status', (status = 'incomplete'))
  set('cmi.core.score.min', 0)
  set('cmi.core.score.max', 100)
  ask('LMSCommit', '')
}

// What was done: at which step, how many of the questions as the model has it, and whether the summary was reached.
function tell({ detail: { at, done, asked, right } }) {
  if (!api || over) return
  set('cmi.core.lesson_location', at)
  if (asked) set('cmi.core.score.raw', Math.round((100 * right) / asked))
  if (done && !['completed', 'passed'].includes(status)) set('cmi.core.lesson_status', (status = 'completed'))
  ask('LMSCommit', '')
}

function end() {
  if (!api || over) return
  over = true
  set('cmi.core.session_time', timespan(Date.now() - started))
  set('cmi.core.exit', status === 'incomplete' ? 'suspend' : '')
  ask('LMSCommit', '')
  ask('LMSFinish', '')
}

begin()
window.addEventListener('gw-told', tell)
window.addEventListener('pagehide', end)
