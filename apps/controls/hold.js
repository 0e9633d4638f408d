// A switch that works only while it is pressed. Whatever loses the press ends it; a beat tells the server that it lasts.

import { element } from '../web/element.js'
export function render({ model }) {
  const hold = { model }
  hold.box = element('button')
  hold.box.type = 'button'
  hold.box.className = 'gw gw-hold'
  hold.box.innerHTML = '<canvas aria-hidden="true"></canvas><span class="words"><b></b><small></small></span>'
  hold.canvas = hold.box.querySelector('canvas')
  hold.word = hold.box.querySelector('b')
  hold.note = hold.box.querySelector('small')
  hold.BEAT_MS = 250
  hold.STEP_MS = 60
  hold.steps = 0
  hold.stepping = 0
  hold.held = false
  hold.why = ''
  hold.by = null
  hold.beat = 0
  hold.since = 0
  hold.count = 0
  hold.trace = []
  hold.drawn = 0

  hold.now = () => performance.now()

  // one and the same each time, so that they can be taken off again
  hold.letGo = () => release(hold)
  hold.whenLost = () => lost(hold)
  listenToPointer(hold)
  listenToKeys(hold)
  hold.box.addEventListener('blur', hold.letGo)
  window.addEventListener('blur', hold.letGo)
  window.addEventListener('pagehide', hold.letGo)
  const hidden = () => document.hidden && release(hold)
  document.addEventListener('visibilitychange', hidden)
  // the server has let go by itself: it heard no beat, or the session stopped
  const field = (m, key) => m?.[key] ?? m?.get?.(key)
  hold.model.on('msg:custom', m => {
    if (field(m, 'kind') === 'let go') {
      release(hold)
      hold.why = field(m, 'why') ?? ''
      show(hold)
    }
  })

  window.addEventListener('gw-lost', hold.whenLost)

  // The face: when it was held in the last seconds, height for on and off.
  hold.css = name => getComputedStyle(document.documentElement).getPropertyValue(name).trim() || '#888'

  for (const key of ['label', 'held_word', 'note']) hold.model.on(key, () => show(hold))
  hold.model.on('disabled', () => {
    hold.box.disabled = hold.model.disabled
    if (hold.model.disabled) release(hold)
  })
  hold.box.disabled = hold.model.disabled
  hold.model.on('remove', () => {
    release(hold)
    cancelAnimationFrame(hold.drawn)
    window.removeEventListener('blur', hold.letGo)
    window.removeEventListener('pagehide', hold.letGo)
    window.removeEventListener('gw-lost', hold.whenLost)
    document.removeEventListener('visibilitychange', hidden)
  })
  show(hold)
  return hold.box
}

function say(hold, kind) {
  return hold.model.send_msg({ kind })
}

function show(hold) {
  hold.box.setAttribute('aria-pressed', hold.held)
  hold.box.classList.toggle('held', hold.held)
  hold.word.textContent = hold.held ? hold.model.held_word : hold.model.label
  hold.note.textContent = hold.held ? `${((hold.now() - hold.since) / 1000).toFixed(1)} s` : hold.why || hold.model.note
}

function press(hold, who) {
  if (hold.held || hold.model.disabled) return
  hold.held = true
  hold.by = who
  hold.since = hold.now()
  hold.trace.push([hold.since, 1])
  hold.count++
  hold.model.send_msg({ kind: 'press', count: hold.count })
  hold.why = ''
  hold.beat = setInterval(() => say(hold, 'beat'), hold.BEAT_MS)
  window.gwConnection?.hold(hold.model.beats, hold.count)
  show(hold)
  run(hold)
}

function release(hold) {
  if (!hold.held) return
  hold.held = false
  hold.by = null
  clearInterval(hold.beat)
  window.gwConnection?.release()
  hold.trace.push([hold.now(), 0])
  say(hold, 'release')
  show(hold)
  run(hold)
}

function lost(hold) {
  if (hold.held) {
    release(hold)
    hold.why = 'Current off: the connection was lost.'
    show(hold)
  }
}

function draw(hold) {
  hold.drawn = 0
  const w = hold.box.clientWidth,
    h = hold.box.clientHeight,
    t = hold.now(),
    span = 8000
  const dpr = Math.min(devicePixelRatio || 1, 2)
  if (hold.canvas.width !== Math.round(w * dpr)) {
    hold.canvas.width = Math.round(w * dpr)
    hold.canvas.height = Math.round(h * dpr)
  }
  const g = hold.canvas.getContext('2d')
  g.setTransform(dpr, 0, 0, dpr, 0, 0)
  g.clearRect(0, 0, w, h)
  while (hold.trace.length > 1 && hold.trace[1][0] < t - span) hold.trace.shift()
  g.beginPath()
  const x = at => w - ((t - at) / span) * w,
    y = on => (on ? 0.2 * h : 0.86 * h)
  let level = 0
  g.moveTo(0, y(hold.trace.length && hold.trace[0][0] < t - span ? hold.trace[0][1] : 0))
  for (const [at, on] of hold.trace) {
    g.lineTo(Math.max(x(at), 0), y(level))
    g.lineTo(Math.max(x(at), 0), y(on))
    level = on
  }
  g.lineTo(w, y(level))
  g.lineWidth = 2
  g.strokeStyle = hold.held ? hold.css('--bg') : hold.css('--current-f')
  g.globalAlpha = hold.held ? 0.7 : 0.55
  g.stroke()
  show(hold)
  if (hold.held || (hold.trace.length && hold.trace[hold.trace.length - 1][0] > t - span)) run(hold)
}

function run(hold) {
  hold.drawn ||= requestAnimationFrame(() => draw(hold))
}

function listenToPointer(hold) {
  hold.box.style.touchAction = 'none'
  hold.box.addEventListener('pointerdown', e => {
    if (e.button) return
    e.preventDefault()
    hold.box.focus({ preventScroll: true })
    hold.box.setPointerCapture(e.pointerId)
    press(hold, 'pointer')
  })
  for (const kind of ['pointerup', 'pointercancel', 'lostpointercapture'])
    hold.box.addEventListener(kind, () => hold.by === 'pointer' && release(hold))
  hold.box.addEventListener('contextmenu', e => e.preventDefault())
}

// Steps of a key that repeats are told together, a few times a second.
function step(hold, by) {
  hold.steps += by
  hold.stepping ||= setTimeout(() => {
    const steps = hold.steps
    hold.steps = hold.stepping = 0
    if (steps) hold.model.send_msg({ kind: 'arrow', by: steps })
  }, hold.STEP_MS)
}

function listenToKeys(hold) {
  const keys = [' ', 'Enter']
  const arrows = { ArrowLeft: -1, ArrowRight: 1 }
  hold.box.addEventListener('keydown', e => {
    // one hand on the keys can hold and move: arrows are told on, held or not
    if (e.key in arrows) {
      e.preventDefault()
      step(hold, arrows[e.key] * (e.shiftKey ? 0.2 : 1))
      return
    }
    if (!keys.includes(e.key)) return
    e.preventDefault()
    if (!e.repeat) press(hold, 'key')
  })
  hold.box.addEventListener('keyup', e => {
    if (keys.includes(e.key)) {
      e.preventDefault()
      if (hold.by === 'key') release(hold)
    }
  })
}
