// Pictures of a lesson from their data: drawPicture, drawHand, drawBench. Colours are those of the page; a picture is a figure
// with
// a title (the finding), the drawing, and a caption. No word or number here comes from anywhere but the data.

import { handView, motionLess } from './hand.js'
import { linesPicture } from './plot.js'
import { barsPicture, stripsPicture, wordsPicture } from './rows.js'
import { forearmPicture } from './forearm.js'
import { benchPicture, stateAt } from './bench.js'
import { element, number, said } from './words.js'

const CSS = `
.gwt-pic { margin: 0; min-width: 0; display: flex; flex-direction: column; gap: .35rem; container-type: inline-size;
  color: var(--ink); }
.gwt-pic[data-fill] { height: 100%; min-height: 0; }
.gwt-title { margin: 0; font-weight: 700; font-size: 1.12rem; line-height: 1.2; text-wrap: balance; }
:root[data-layout=wall] .gwt-title { font-size: 1.3rem; }
.gwt-caption { margin: 0; color: var(--ink2); font-size: .93rem; line-height: 1.35; }
:root[data-layout=wall] .gwt-caption { font-size: 1.08rem; }
:root[data-layout=wall] .wall .gwt-btn { font-size: 1.08rem; }
.gwt-draw { position: relative; min-width: 0; background: var(--surface); border-radius: 8px; overflow: hidden; }
.gwt-draw.gwt-hand, .gwt-draw.gwt-lines { aspect-ratio: 3 / 2; max-height: var(--picture-most, 58vh); width: 100%; }
.gwt-draw.gwt-forearm { aspect-ratio: 1 / 1.06; max-height: max(26rem, var(--picture-most, 74vh)); width: 100%; }
.gwt-draw.gwt-lines { padding: 0; }
.gwt-draw.gwt-bars, .gwt-draw.gwt-strips-box, .gwt-draw.gwt-words-box { padding: .7rem .8rem; overflow: visible; }
.gwt-pic[data-fill] .gwt-draw { aspect-ratio: auto; max-height: none; flex: 1 1 0; min-height: 8rem; }
.gwt-pic[data-small] .gwt-draw { border-radius: 6px; }
.gwt-svg { position: absolute; inset: 0; display: block; width: 100%; height: 100%; user-select: none; -webkit-user-select: none;
  }
.gwt-svg text, .gwt-bar text, .gwt-strip-axis text { font-family: var(--font, system-ui, sans-serif);
  font-variant-numeric: tabular-nums; }
.gwt-vh { position: absolute; width: 1px; height: 1px; margin: -1px; overflow: hidden; clip-path: inset(50%);
  white-space: nowrap; }
.gwt-btn { font: 600 1rem/1.2 var(--font, system-ui, sans-serif); color: var(--ink); background: var(--surface);
  border: 1.5px solid var(--edge); border-radius: 6px; min-height: 44px; padding: 4px 16px; cursor: pointer; }
.gwt-btn:hover { border-color: var(--ink); }
.gwt-btn:disabled { opacity: .55; cursor: default; }
.gwt-play { display: grid; grid-template-columns: auto minmax(0, 1fr) auto; gap: 12px; align-items: center; }
.gwt-play output { font-weight: 700; min-width: 4.2em; text-align: right; white-space: nowrap; color: var(--q, var(--ink)); }
.gwt-keys { display: flex; flex-wrap: wrap; gap: 2px 16px; align-items: start; }
.gwt-keys > label, .gwt-keys details[open] { flex: 1 0 100%; }
.gwt-keys:empty { display: none; }
.gwt-keys label { display: grid; grid-template-columns: minmax(5.5em, auto) minmax(0, 1fr) minmax(6.5em, auto); gap: 10px;
  align-items: center; }
.gwt-keys output { text-align: right; font-weight: 600; }
.gwt-keys .gwt-btn, .gwt-keys > button { justify-self: start; }
.gwt-keys > button { font: 600 1rem/1.2 var(--font, system-ui, sans-serif); color: var(--ink); background: var(--surface);
  border: 1.5px solid var(--edge); border-radius: 6px; min-height: 44px; padding: 4px 16px; cursor: pointer; }
.gwt-keys > button:disabled { opacity: .55; cursor: default; }
.gwt-keys summary { min-height: 44px; display: flex; align-items: center; cursor: pointer; text-decoration: underline;
  text-underline-offset: 3px; }
.gwt-pic input[type=range], .gwt-bench input[type=range] { width: 100%; height: 44px; margin: 0; padding: 0; background: none;
  appearance: none; -webkit-appearance: none; cursor: pointer; touch-action: pan-y; outline: none; }
.gwt-pic input[type=range]::-webkit-slider-runnable-track,
  .gwt-bench input[type=range]::-webkit-slider-runnable-track { height: 6px; border-radius: 3px;
  background: linear-gradient(90deg, var(--qf, var(--edge)) var(--p, 0%), var(--line) var(--p, 0%)); }
.gwt-pic input[type=range]::-moz-range-track, .gwt-bench input[type=range]::-moz-range-track { height: 6px; border-radius: 3px;
  background: linear-gradient(90deg, var(--qf, var(--edge)) var(--p, 0%), var(--line) var(--p, 0%)); }
.gwt-pic input[type=range]::-webkit-slider-thumb, .gwt-bench input[type=range]::-webkit-slider-thumb { -webkit-appearance: none;
  width: 12px; height: 28px; margin-top: -11px; border: 2.5px solid var(--ink); border-radius: 4px; background: var(--surface); }
.gwt-pic input[type=range]::-moz-range-thumb, .gwt-bench input[type=range]::-moz-range-thumb { width: 12px; height: 28px;
  box-sizing: border-box; border: 2.5px solid var(--ink); border-radius: 4px; background: var(--surface); }
.gwt-pic input[type=range]:focus-visible::-webkit-slider-thumb,
  .gwt-bench input[type=range]:focus-visible::-webkit-slider-thumb { box-shadow: 0 0 0 3px var(--bg), 0 0 0 6px var(--ink); }
.gwt-pic input[type=range]:focus-visible::-moz-range-thumb,
  .gwt-bench input[type=range]:focus-visible::-moz-range-thumb { box-shadow: 0 0 0 3px var(--bg), 0 0 0 6px var(--ink); }
.gwt-bench input[type=range]:disabled { opacity: .5; cursor: default; }
.gwt-rows, .gwt-lanes, .gwt-words { list-style: none; margin: 0; padding: 0; display: grid; }
.gwt-rows { gap: .5rem; }
.gwt-rows li, .gwt-lanes li { display: grid; grid-template-columns: minmax(0, 1fr) auto; gap: 0 10px; align-items: center; }
.gwt-row-words { grid-column: 1 / -1; line-height: 1.2; }
.gwt-rows .total .gwt-row-words { font-weight: 700; }
.gwt-bar { display: block; height: 1.7rem; width: 100%; overflow: visible; }
.gwt-value { min-width: 4.1em; text-align: right; white-space: nowrap; color: var(--q, var(--ink)); }
.gwt-value.current { color: var(--current-t); }
.gwt-strips { display: grid; gap: .9rem; }
.gwt-strip-head { margin: 0 0 .25rem; line-height: 1.25; }
.gwt-lanes li { min-height: 1.45rem; }
.gwt-lanes .gwt-bar { height: 1rem; }
.gwt-strip-axis { margin-right: calc(4.1em + 10px); }
.gwt-strip-axis svg { display: block; overflow: visible; }
.gwt-pic[data-fill] .gwt-rows { height: 100%; max-height: calc(var(--rows) * 5rem); grid-auto-rows: minmax(0, 1fr); }
.gwt-pic[data-fill] .gwt-rows .gwt-bar { height: min(100%, 3rem); }
:root[data-layout=wall] .gwt-lanes li { min-height: 1.8rem; }
:root[data-layout=wall] .gwt-lanes .gwt-bar { height: 1.25rem; }
.gwt-unit { text-align: right; padding-right: calc(4.1em + 10px); margin: -.5rem 0 0; color: var(--ink2); font-weight: 700;
  font-size: .93rem; }
.gwt-words { gap: .6rem; font-size: 1.1rem; line-height: 1.35; }
:root[data-layout=wall] .gwt-words, :root[data-layout=wall] .gwt-rows { font-size: 1.2rem; }
.gwt-words li { padding-left: 1rem; border-left: 3px solid var(--line); }
.gwt-words li p { margin: 0; }
@container (min-width: 27rem) {
  .gwt-rows li { grid-template-columns: minmax(8rem, 36%) minmax(0, 1fr) auto; }
  .gwt-strips { --lane: 8.5rem; }
  .gwt-lanes li { grid-template-columns: var(--lane) minmax(0, 1fr) auto; }
  .gwt-rows .gwt-row-words, .gwt-lanes .gwt-row-words { grid-column: 1; }
  .gwt-strip-axis { margin-left: calc(var(--lane) + 10px); }
}
@container (min-width: 36rem) { .gwt-strips { --lane: 10.2rem; } }
@container (min-width: 54rem) { .gwt-strips:has(.gwt-strip + .gwt-strip) { grid-template-columns: 1fr 1fr; column-gap: 2rem;
  } .gwt-unit { grid-column: 1 / -1; } }
.gwt-bench { display: grid; gap: .7rem; container-type: inline-size; color: var(--ink); }
.gwt-heroes { display: grid; gap: .7rem; grid-template-columns: minmax(0, 1fr); }
.gwt-cell { min-width: 0; }
@container (min-width: 46rem) { .gwt-heroes { grid-template-columns: minmax(0, 1.15fr) minmax(0, 1fr);
  } .gwt-heroes .gwt-draw { aspect-ratio: auto; height: min(28rem, 35vh, var(--picture-most, 58vh)); max-height: none;
  } .gwt-settings { grid-template-columns: repeat(2, minmax(0, 1fr)); } }
.gwt-thread { margin: 0; display: flex; flex-wrap: wrap; gap: 2px 18px; color: var(--ink2); }
.gwt-thread span { white-space: nowrap; }
.gwt-settings { display: grid; gap: .3rem 2rem; align-items: start; }
.gwt-setting { display: grid; grid-template-columns: minmax(0, 1fr) auto; align-items: end; gap: 0 12px; }
.gwt-setting label { font-weight: 600; }
.gwt-setting output { color: var(--qt); font-weight: 700; font-size: 1.2rem; line-height: 1.1; white-space: nowrap; }
.gwt-setting input[type=range] { grid-column: 1 / -1; margin: -3px 0 -5px; }
.gwt-setting.choice { align-items: center; padding: 4px 0; }
.gwt-setting select { font: inherit; color: var(--ink); background: var(--surface); border: 1.5px solid var(--edge);
  border-radius: 6px; min-height: 44px; padding: 4px 10px; max-width: 100%; }
.gwt-setting .gwt-tick { grid-column: 1 / -1; font-weight: 450; display: flex; gap: 8px; align-items: center; min-height: 36px; }
.gwt-tick input { width: 22px; height: 22px; accent-color: var(--ink); }
.gwt-goals { list-style: none; margin: 0; padding: 0; display: grid; gap: .35rem; }
.gwt-goals li { display: grid; grid-template-columns: 1.4rem minmax(0, 1fr); gap: 0 .4rem; align-items: baseline; }
.gwt-goals .gwt-how { grid-column: 2; color: var(--ink2); font-size: .93rem; }
.gwt-goals .met span:not(.gwt-how) { font-weight: 600; }
.gwt-actions { display: flex; flex-wrap: wrap; gap: 10px; }
.gwt-trouble { margin: 0; font-weight: 600; }
.gwt-trouble:not(:empty) { border-left: 4px solid var(--ink); padding-left: 10px; }
`
let styled = false
export function style() {
  if (styled) return
  styled = true
  const sheet = new CSSStyleSheet()
  sheet.replaceSync(CSS)
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet]
}

// One posture without words around it, such as the small hand beside a choice.
export function drawHand(host, state, { small = true, label = 'A hand from the thumb side.' } = {}) {
  style()
  const view = handView(host, { small })
  view.say(label)
  view.show(state)
  return { update(next, how = 'ease') { view.show(next, how) }, destroy: view.destroy }
}

export function drawBench(host, B, hooks = {}) {
  style()
  return benchPicture(host, B, hooks)
}

// A hand, and where there are samples a way to play, stop and leaf through them.
function handPicture(draw, P, o) {
  const view = handView(draw, { small: o.small })
  const bar = element('div', 'gwt-play')
  const button = Object.assign(element('button', 'gwt-btn', 'Play'), { type: 'button' }),
    slide = Object.assign(element('input'), { type: 'range' }), out = element('output')
  out.setAttribute('aria-live', 'off')
  let frames = null, at = 0, going = false, watcher = null
  const along = () => P.along ?? { name: 'Time', unit: 's', values: frames.map(f => f.t_ms / 1000), quantity: null }
  const end = () => frames[frames.length - 1].t_ms
  const valueAt = t => {
    const a = along().values
    let i = 0
    while (i < frames.length - 2 && frames[i + 1].t_ms <= t) i++
    const f = (t - frames[i].t_ms) / (frames[i + 1].t_ms - frames[i].t_ms || 1)
    return a[i] + (a[i + 1] - a[i]) * Math.min(1, Math.max(0, f))
  }
  const show = () => {
    const digits = along().digits ?? (P.along ? 0 : 1), words = `${number(valueAt(at), digits)} ${along().unit}`
    out.textContent = words
    slide.value = String(Math.round((1000 * at) / end()))
    slide.setAttribute('aria-valuetext', words)
    slide.style.setProperty('--p', `${(100 * at) / end()}%`)
    button.textContent = going ? 'Pause' : at >= end() - 1 ? 'Replay' : motionLess() ? 'Next step' : 'Play'
  }
  const play = () => {
    if (motionLess()) {
      // as steps, each on request
      at = at >= end() - 1 ? 0 : Math.min(end(), at + end() / 6)
      view.step(frames, at); show()
      return
    }
    if (at >= end() - 1) at = 0
    going = true
    view.play(frames, (t, ended) => { at = t; if (ended) going = false; show() }, at)
    show()
  }
  button.addEventListener('click', () => { if (going) { going = false; view.stop(); show() } else play() })
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
    if (motionLess() || o.play === false) { at = end(); view.hold(frames, at); show(); return }
    view.hold(frames, 0); show()
    // once, when it is first seen
    watcher = new IntersectionObserver(seen => { if (seen.some(e => e.isIntersecting)) { watcher.disconnect(); play() } },
      { threshold: 0.4 })
    watcher.observe(draw)
  }
  set()
  return { update(next) { P = next; set() }, paint() {}, destroy() { watcher?.disconnect(); view.destroy(); bar.remove() } }
}

const KINDS = {
  hand: [handPicture, 'gwt-hand'], lines: [linesPicture, 'gwt-lines'], bars: [barsPicture, 'gwt-bars'],
    strips: [stripsPicture, 'gwt-strips-box'],
  forearm: [forearmPicture, 'gwt-forearm'], words: [wordsPicture, 'gwt-words-box'],
}

// Options: `small` (no title, no words), `large` (the wall: nobody can draw there), `fill` (takes the height of the host), `play:
// false` (shows the end of a movement),
// `guess` (a key, that of the data if not given, null for none: on a covered curve a line can be drawn, and where the curve is
// open the same key shows it again),
// `place` ({value: {x, y} | null, onchange(value), locked, right: {x, y, within_x, within_y}, others: [{x, y}]}).
export function drawPicture(host, P, options = {}) {
  style()
  const o = { small: false, ...options }, known = KINDS[P.kind]
  if (!known) throw new Error(`'kind' must be one of ${Object.keys(KINDS).join(', ')} (got ${P.kind}).`)
  const figure = element('figure', 'gwt-pic'), title = element('p', 'gwt-title'), draw = element('div', `gwt-draw ${known[1]}`),
    caption = element('figcaption', 'gwt-caption')
  figure.dataset.kind = P.kind
  if (o.small) figure.dataset.small = ''
  if (o.fill) figure.dataset.fill = ''
  const name = () => {
    title.textContent = P.title ?? ''; title.hidden = !P.title || o.small
    caption.textContent = P.caption ?? ''; caption.hidden = !P.caption || o.small
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
      window.removeEventListener('gw-look', redraw); window.removeEventListener('gwt-font', redraw)
      part.destroy(); figure.remove()
    },
  }
}

export { stateAt }
