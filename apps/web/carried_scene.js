// A scene that was carried away: the hand, its curve and the chain under the slider, a change that is chosen, and why.

import { el, fill } from './dom.js'
import { drawBench, drawPicture } from './draw.js'
import { unpacked } from './packed.js'

const CURRENT = 'channel.0.pulse.amplitude_ma'
const held = JSON.parse(document.getElementById('carried').textContent),
  views = held.views.map(unpacked)
const app = document.getElementById('app')
const heading = el('h3', {}),
  whyBox = el('div', { class: 'scene-why' }),
  benchBox = el('div', {})

// The same scene seen beside a change is a bench whose second setting is the change.
const bench = {
  live: views[0].live,
  curve: 'whole',
  goals: [],
  settings: [held.current, { path: 'pin', label: 'With', choices: views.map((view, i) => [i, view.name]), value: 0 }],
}
const indexOf = ma => {
  const x = views[0].live.amplitude_ma
  return x.reduce((best, at, i) => (Math.abs(at - ma) < Math.abs(x[best] - ma) ? i : best), 0)
}

let bars = null
function why(settings) {
  const pin = settings.pin ?? 0,
    data = views[pin].why[indexOf(settings[CURRENT] ?? views[0].live.at_ma)]
  heading.textContent = pin ? `What the change does: ${views[pin].name}` : 'Why the hand stands as it does'
  const picture = { kind: 'bars', unit: 'mm', quantity: 'opening', digits: 0, ...data }
  if (bars) bars.update(picture)
  else bars = drawPicture(whyBox, picture)
}

fill(app, benchBox, el('section', { class: 'part', 'aria-label': 'Why' }, heading, whyBox))
drawBench(benchBox, bench, { ask: async settings => views[settings.pin].live, onchange: why })
why({ [CURRENT]: held.current.value, pin: 0 })
globalThis.graspwaveScene = { views, indexOf }
