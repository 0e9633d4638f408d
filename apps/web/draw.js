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
  const view = handView(draw, { small: o.small })
  const bar = element('div', 'gwt-play')
  const button = Object.assign(element('button', 'gwt-btn', 'Play'), { type: 'button' }),
    slide = Object.assign(element('input'), { type: 'range' }),
    out = element('output')
  out.setAttribute('aria-live', 'off')
  let frames = null,
    at = 0,
    going = false,
    watcher = null
  const along = () => P.along ?? { name: 'Time', unit: 's', values: frames.map(f => f.t_ms / 1000), quantity: null }
  const end = () => frames[frames.length - 1].t_ms
  const valueAt = t => {
    const a = along().values
    const [i, j, f] = placeAmong(frames.length, k => frames[k].t_ms, t)
    return a[i] + (a[j] - a[i]) * f
  }
  const show = () => {
    const digits = along().digits ?? (P.along ? 0 : 1),
      words = `${number(valueAt(at), digits)} ${along().unit}`
    out.textContent = words
    slide.value = String(Math.round((1000 * at) / end()))
    slide.setAttribute('aria-valuetext', words)
    fillTrack(slide)
    button.textContent = going ? 'Pause' : at >= end() - 1 ? 'Replay' : motionLess() ? 'Next step' : 'Play'
  }
  const play = () => {
    if (motionLess()) {
      // as steps, each on request
      at = at >= end() - 1 ? 0 : Math.min(end(), at + end() / 6)
      view.step(frames, at)
      show()
      return
    }
    if (at >= end() - 1) at = 0
    going = true
    view.play(
      frames,
      (t, ended) => {
        at = t
        if (ended) going = false
        show()
      },
      at,
    )
    show()
  }
  button.addEventListener('click', () => {
    if (going) {
      going = false
      view.stop()
      show()
    } else play()
  })
  slide.addEventListener('input', () => {
    going = false
    at = (Number(slide.value) / 1000) * end()
    view.hold(frames, at)
    show()
  })
  const set = () => {
    frames = P.frames?.length > 1 && !o.small ? P.frames : null
    view.say(said(P))
    view.show(P.state)
    bar.remove()
    watcher?.disconnect()
    if (!frames) return
    Object.assign(slide, { min: 0, max: 1000, step: 1 })
    slide.setAttribute('aria-label', along().name)
    const q = along().quantity
    bar.style.setProperty('--q', q ? `var(--${q}-t)` : 'var(--ink)')
    slide.style.setProperty('--qf', q ? `var(--${q}-f)` : 'var(--edge)')
    bar.replaceChildren(button, slide, out)
    draw.after(bar)
    at = 0
    if (motionLess() || o.play === false) {
      at = end()
      view.hold(frames, at)
      show()
      return
    }
    view.hold(frames, 0)
    show()
    // once, when it is first seen
    watcher = new IntersectionObserver(
      seen => {
        if (seen.some(e => e.isIntersecting)) {
          watcher.disconnect()
          play()
        }
      },
      { threshold: 0.4 },
    )
    watcher.observe(draw)
  }
  set()
  return {
    update(next) {
      P = next
      set()
    },
    paint() {},
    destroy() {
      watcher?.disconnect()
      view.destroy()
      bar.remove()
    },
  }
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
  const twin = ['bars', 'strips'].includes(P.kind) && P.text ? element('p', 'gwt-vh', P.text) : null
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
