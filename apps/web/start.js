// The start page: two hands worked out on the server, one slider, one sentence. Nothing is asked again while it moves.

import { element } from './element.js'
import { stateAt } from './bench.js'
import { sceneLink } from './dom.js'
import { handView } from './hand/view.js'
import './join.js'
import { number } from './numbers.js'
import { fillTrack } from './range.js'

const BEGINS = 1,
  CLAW = 2 // how far the middle finger has come to be one
const $ = id => document.getElementById(id)
const slider = $('start-ma'),
  out = $('start-out'),
  said = $('start-said'),
  host = $('start-draw'),
  thread = $('start-thread')
const bent = v => (Math.abs(v) < 4.5 ? 'straight' : `${number(Math.abs(v))}° ${v > 0 ? 'bent' : 'back'}`)
const wristWords = v => (Math.abs(v) < 2.5 ? 'level' : `${number(Math.abs(v))}° ${v > 0 ? 'bent down' : 'back'}`)

function links(state, ma) {
  const a = state.angle_deg
  return [
    ['current', `${number(ma)} mA`, 'current on the skin'],
    [
      'force',
      `${number(100 * state.recruited.openers)} % · ${number(100 * state.recruited.closers)} %`,
      'openers · closers called in',
    ],
    ['angle', wristWords(a.wrist), 'wrist'],
    ['angle', bent(a.MCP), 'knuckles'],
    ['angle', bent(a.PIP), 'middle joints'],
    ['opening', state.opening.mm < 3 ? 'none' : `${number(state.opening.mm)} mm`, 'opening'],
  ]
}

function sentence(hand, ma, state) {
  const i = Math.round(ma / 0.5),
    mm = state.opening.mm,
    widest = Math.max(...hand.live.opening_mm.slice(0, hand.claw.length))
  const note = []
  if (hand.claw[i] === CLAW)
    note.push(
      'It claws: the knuckles are straight, the middle joints bend. The opener\u2019s pull ends at the knuckles, and its slips to the fingers hang slack. ',
    )
  else if (mm < 3) note.push(ma < 5 ? 'So far the hand is shut. Turn the current up. ' : 'The hand is shut. ')
  else if (mm >= 0.9 * widest)
    note.push(hand.key === 'supple' ? 'Open, and it stays open over a broad range. ' : 'As wide as this hand opens. ')
  else note.push('Something moves. ')
  if (hand.claw[i] === BEGINS) note.push('The middle joints start to bend: a claw begins. ')
  said.replaceChildren(...note)
  const link = element('a')
  link.href = '/explore'
  sceneLink('explore', hand.scene.replace('{ma}', ma.toFixed(1))).then(href => {
    link.href = href
  })
  link.textContent = hand.claw[i] === CLAW ? 'See why it claws' : 'See what happens inside'
  said.append(link)
}

try {
  const answer = await fetch('/start.json')
  if (!answer.ok) throw new Error(String(answer.status))
  const data = await answer.json()
  $('start-wait')?.remove()
  const views = data.hands.map(hand => {
    const box = host.querySelector(`[data-hand=${hand.key}]`)
    return { hand, box, view: handView(box.querySelector('.of')), mm: box.querySelector('.mm') }
  })
  host.dataset.ready = ''
  const chosen = () => data.hands.find(h => h.key === document.querySelector('input[name=hand]:checked').value)
  const show = how => {
    const hand = chosen(),
      ma = Number(slider.value),
      state = stateAt(hand.live, ma)
    const items = links(state, ma)
    for (const one of views) {
      const its = stateAt(one.hand.live, ma)
      one.view.show(its, how)
      one.view.say(
        `${one.hand.name}: ${links(its, ma)
          .map(([, value, name]) => `${name} ${value}`)
          .join(', ')}.`,
      )
      one.box.toggleAttribute('data-chosen', one.hand === hand)
      one.mm.textContent =
        one.hand.claw[Math.round(ma / 0.5)] === CLAW
          ? 'claws'
          : its.opening.mm < 3
            ? 'shut'
            : `opens ${number(its.opening.mm)} mm`
    }
    thread.replaceChildren(
      ...items.map(([q, value, name]) => {
        const item = element('li'),
          b = element('b'),
          s = element('span')
        item.style.setProperty('--q', `var(--${q}-f)`)
        b.style.color = `var(--${q}-t)`
        b.textContent = value
        s.textContent = name
        item.append(b, s)
        return item
      }),
    )
    out.replaceChildren(Object.assign(element('b'), { textContent: number(ma) }), ' mA')
    slider.setAttribute('aria-valuetext', `${number(ma)} mA`)
    fillTrack(slider)
    sentence(hand, ma, state)
  }
  slider.max = data.most_ma
  slider.value = data.start_ma
  slider.disabled = false
  slider.addEventListener('input', () => show('at once'))
  for (const radio of document.querySelectorAll('input[name=hand]')) radio.addEventListener('change', () => show('ease'))
  show('at once')
} catch {
  const wait = $('start-wait') ?? host.appendChild(element('p'))
  wait.className = 'waiting'
  wait.textContent = 'The hands could not be fetched. Load the page again; the four ways below work all the same.'
}
