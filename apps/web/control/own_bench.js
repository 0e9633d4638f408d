// The educator's own bench, and showing it to all.

import { el, post, say, sendable } from '../dom.js'
import { renderStep } from '../step.js'
import { line, room, state, tell, token } from './leading.js'

export const benchHost = el('div', { class: 'mirror-host', hidden: true })

let timer = 0,
  at = -1,
  last = null

export function toggleMirror() {
  const on = !state.mirror
  if (on && !benchHost.step) {
    openBench(true)
    return
  }
  line.send({ type: 'mirror', settings: on ? (last ?? benchHost.settings ?? {}) : null })
  say(on ? 'Your scene is on every phone and on the wall' : 'Your scene is yours again')
}

const mine = body => post(`/room/${room}/mine`, { token, step: state.step, ...body })

// The educator's own bench: pads, current, wrist, tone and hand in every step; what it shows to all is worked out by the server.
async function openBench(show) {
  const step = state.step
  try {
    const { ok, data } = await mine({})
    if (!ok) {
      tell(data.text ?? 'The scene could not be worked out.')
      return
    }
    if (step !== state.step) return
    at = step
    benchHost.hidden = false
    const before = state.mirror?.settings
    benchHost.settings = sendable(Object.fromEntries(data.settings.map(s => [s.path, s.value])))
    renderStep(
      benchHost,
      {
        number: state.view.number,
        of: state.view.of,
        title: 'My scene',
        kind: 'bench',
        phase: 'show',
        html: '',
        pictures: [],
        bench: data,
        benchSettings: before ?? null,
      },
      { mode: 'control', bench: newest, benchChanged: changed },
    )
    if (show) line.send({ type: 'mirror', settings: benchHost.settings })
    say(show ? 'Your scene is on every phone and on the wall' : '')
    benchHost.scrollIntoView({ block: 'nearest' })
  } catch {
    tell('No connection. Try again in a moment.')
  }
}

async function newest(settings) {
  const { ok, data } = await mine({ settings: sendable(settings) })
  if (!ok) throw new Error(data.text ?? 'This could not be worked out. Try again.')
  return data
}

// It stays open once it was, until the step changes; another device that leads finds it open where a scene is shown.
export function drawBenchPanel(view, mirror) {
  if (benchHost.step && at !== state.step) {
    benchHost.step.clear()
    benchHost.hidden = true
    last = null
  }
  if (mirror && !benchHost.step && at !== state.step) {
    at = state.step
    openBench(false)
  }
}

// Every phone follows, so a drag is sent a few times a second and at its end.
function changed(settings) {
  last = sendable(settings)
  if (!state.mirror || timer) return
  timer = setTimeout(() => {
    timer = 0
    if (state.mirror) line.send({ type: 'mirror', settings: last })
  }, 150)
}
