// Pictures of a lesson from their data: drawPicture, drawHand, drawBench. Colours are those of the page; a picture is a figure
// with
// a title (the finding), the drawing, and a caption. No word or number here comes from anywhere but the data.

import { placeAmong } from './hand/player.js'
import { handView, motionLess } from './hand/view.js'
import { linesPicture } from './plot.js'
import { barsPicture, stripsPicture, wordsPicture } from './rows.js'
import { forearmPicture } from './forearm.js'
import { benchPicture, stateAt } from './bench.js'
import { element } from './element.js'
import { number } from './numbers.js'
import { said } from './words.js'
import { fillTrack } from './range.js'

// One posture without words around it, such as the small hand beside a choice.
export function drawHand(host, state, { small = true, label = 'A hand from the thumb side.' } = {}) {
  const view = handView(host, { small })
  view.say(label)
  view.show(state)
  return {
    update(next, how = 'ease') {
      view.show(next, how)
    },
    destroy: view.destroy,
  }
}

export function drawBench(host, B, hooks = {}) {
  return benchPicture(host, B, hooks)
}

// A hand, and where there are samples a way to play, stop and leaf through them.
function handPicture(draw, P, o) {
  const player = { P }
  player.view = handView(draw, { small: o.small })
  player.bar = element('div', 'gwt-play')
  player.button = Object.assign(element('button', 'btn gwt-btn', 'Play'), { type: 'button' })
  player.slide = Object.assign(element('input'), { type: 'range' })
  player.out = element('output')
  player.out.setAttribute('aria-live', 'off')
  player.frames = null
  player.at = 0
  player.going = false
  player.watcher = null

  const valueAt = t => {
    const a = along(player).values
    const [i, j, f] = placeAmong(player.frames.length, k => player.frames[k].t_ms, t)
    return a[i] + (a[j] - a[i]) * f
  }
  player.show = () => {
    const digits = along(player).digits ?? (player.P.along ? 0 : 1),
      words = `${number(valueAt(player.at), digits)} ${along(player).unit}`
    player.out.textContent = words
    player.slide.value = String(Math.round((1000 * player.at) / end(player)))
    player.slide.setAttribute('aria-valuetext', words)
    fillTrack(player.slide)
    player.button.textContent = player.going
      ? 'Pause'
      : player.at >= end(player) - 1
        ? 'Replay'
        : motionLess()
          ? 'Next step'
          : 'Play'
  }

  player.button.addEventListener('click', () => {
    if (player.going) {
      player.going = false
      player.view.stop()
      player.show()
    } else play(player)
  })
  player.slide.addEventListener('input', () => {
    player.going = false
    player.at = (Number(player.slide.value) / 1000) * end(player)
    player.view.hold(player.frames, player.at)
    player.show()
  })

  set(draw, o, player)
  return {
    update(next) {
      player.P = next
      set(draw, o, player)
    },
    paint() {},
    destroy() {
      player.watcher?.disconnect()
      player.view.destroy()
      player.bar.remove()
    },
  }
}

function along(player) {
  return player.P.along ?? { name: 'Time', unit: 's', values: player.frames.map(f => f.t_ms / 1000), quantity: null }
}

function end(player) {
  return player.frames[player.frames.length - 1].t_ms
}

function play(player) {
  if (motionLess()) {
    // as steps, each on request
    player.at = player.at >= end(player) - 1 ? 0 : Math.min(end(player), player.at + end(player) / 6)
    player.view.step(player.frames, player.at)
    player.show()
    return
  }
  if (player.at >= end(player) - 1) player.at = 0
  player.going = true
  player.view.play(
    player.frames,
    (t, ended) => {
      player.at = t
      if (ended) player.going = false
      player.show()
    },
    player.at,
  )
  player.show()
}

function set(draw, o, player) {
  player.frames = player.P.frames?.length > 1 && !o.small ? player.P.frames : null
  player.view.say(said(player.P))
  player.view.show(player.P.state)
  player.bar.remove()
  player.watcher?.disconnect()
  if (!player.frames) return
  Object.assign(player.slide, { min: 0, max: 1000, step: 1 })
  player.slide.setAttribute('aria-label', along(player).name)
  const q = along(player).quantity
  player.bar.style.setProperty('--q', q ? `var(--${q}-t)` : 'var(--ink)')
  player.slide.style.setProperty('--qf', q ? `var(--${q}-f)` : 'var(--edge)')
  player.bar.replaceChildren(player.button, player.slide, player.out)
  draw.after(player.bar)
  player.at = 0
  if (motionLess() || o.play === false) {
    player.at = end(player)
    player.view.hold(player.frames, player.at)
    player.show()
    return
  }
  player.view.hold(player.frames, 0)
  player.show()
  // once, when it is first seen
  player.watcher = new IntersectionObserver(
    seen => {
      if (seen.some(e => e.isIntersecting)) {
        player.watcher.disconnect()
        play(player)
      }
    },
    { threshold: 0.4 },
  )
  player.watcher.observe(draw)
}

const KINDS = {
  hand: [handPicture, 'gwt-hand'],
  lines: [linesPicture, 'gwt-lines'],
  bars: [barsPicture, 'gwt-bars'],
  strips: [stripsPicture, 'gwt-strips-box'],
  forearm: [forearmPicture, 'gwt-forearm'],
  words: [wordsPicture, 'gwt-words-box'],
}

// Options: `small` (no title, no words), `large` (the wall: nobody can draw there), `fill` (takes the height of the host), `play:
// false` (shows the end of a movement),
// `guess` (a key, that of the data if not given, null for none: on a covered curve a line can be drawn, and where the curve is
// open the same key shows it again),
// `place` ({value: {x, y} | null, onchange(value), locked, right: {x, y, within_x, within_y}, others: [{x, y}]}).
export function drawPicture(host, P, options = {}) {
  const o = { small: false, ...options },
    known = KINDS[P.kind]
  if (!known) throw new Error(`'kind' must be one of ${Object.keys(KINDS).join(', ')} (got ${P.kind}).`)
  const figure = element('figure', 'gwt-pic'),
    title = element('p', 'gwt-title'),
    draw = element('div', `gwt-draw ${known[1]}`),
    caption = element('figcaption', 'gwt-caption')
  figure.dataset.kind = P.kind
  if (o.small) figure.dataset.small = ''
  if (o.fill) figure.dataset.fill = ''
  const name = () => {
    title.textContent = P.title ?? ''
    title.hidden = !P.title || o.small
    caption.textContent = P.caption ?? ''
    caption.hidden = !P.caption || o.small
  }
  name()
  figure.append(title, draw, caption)
  host.append(figure)
  // rows and words are read as they stand; their text twin says the whole first
  const twin = ['bars', 'strips'].includes(P.kind) && P.text ? element('p', 'vh', P.text) : null
  if (twin) draw.before(twin)
  let part = known[0](draw, P, o)
  const redraw = () => part.paint?.()
  window.addEventListener('gw-look', redraw)
  window.addEventListener('gwt-font', redraw)
  return {
    figure,
    update(next, more = {}) {
      P = next
      name()
      if (twin) twin.textContent = P.text ?? ''
      part.update(P, more)
    },
    destroy() {
      window.removeEventListener('gw-look', redraw)
      window.removeEventListener('gwt-font', redraw)
      part.destroy()
      figure.remove()
    },
  }
}

export { stateAt }
