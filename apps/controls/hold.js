// A switch that works only while it is pressed. Whatever loses the press ends it; a beat tells the server that it lasts.
export function render({ model }) {
  const box = document.createElement('button')
  box.type = 'button'
  box.className = 'gw gw-hold'
  box.innerHTML = '<canvas aria-hidden="true"></canvas><span class="words"><b></b><small></small></span>'
  const canvas = box.querySelector('canvas'),
    word = box.querySelector('b'),
    note = box.querySelector('small')
  const BEAT_MS = 250
  let held = false,
    why = '',
    by = null,
    beat = 0,
    since = 0,
    trace = [],
    drawn = 0

  const now = () => performance.now()
  const say = kind => model.send_msg({ kind })
  const show = () => {
    box.setAttribute('aria-pressed', held)
    box.classList.toggle('held', held)
    word.textContent = held ? model.held_word : model.label
    note.textContent = held ? `${((now() - since) / 1000).toFixed(1)} s` : why || model.note
  }
  const press = who => {
    if (held || model.disabled) return
    held = true
    by = who
    since = now()
    trace.push([since, 1])
    say('press')
    why = ''
    beat = setInterval(() => say('beat'), BEAT_MS)
    window.gwConnection?.hold(model.beats)
    show()
    run()
  }
  const release = () => {
    if (!held) return
    held = false
    by = null
    clearInterval(beat)
    window.gwConnection?.release()
    trace.push([now(), 0])
    say('release')
    show()
    run()
  }

  box.style.touchAction = 'none'
  box.addEventListener('pointerdown', e => {
    if (e.button) return
    e.preventDefault()
    box.focus({ preventScroll: true })
    box.setPointerCapture(e.pointerId)
    press('pointer')
  })
  for (const kind of ['pointerup', 'pointercancel', 'lostpointercapture'])
    box.addEventListener(kind, () => by === 'pointer' && release())
  box.addEventListener('contextmenu', e => e.preventDefault())
  const keys = [' ', 'Enter']
  const arrows = { ArrowLeft: -1, ArrowRight: 1 }
  box.addEventListener('keydown', e => {
    // one hand on the keys can hold and move: arrows are told on, held or not
    if (e.key in arrows) {
      e.preventDefault()
      model.send_msg({ kind: 'arrow', by: arrows[e.key] * (e.shiftKey ? 0.2 : 1) })
      return
    }
    if (!keys.includes(e.key)) return
    e.preventDefault()
    if (!e.repeat) press('key')
  })
  box.addEventListener('keyup', e => {
    if (keys.includes(e.key)) {
      e.preventDefault()
      if (by === 'key') release()
    }
  })
  box.addEventListener('blur', release)
  window.addEventListener('blur', release)
  window.addEventListener('pagehide', release)
  const hidden = () => document.hidden && release()
  document.addEventListener('visibilitychange', hidden)
  // the server has let go by itself: it heard no beat, or the session stopped
  const field = (m, key) => m?.[key] ?? m?.get?.(key)
  model.on('msg:custom', m => {
    if (field(m, 'kind') === 'let go') {
      release()
      why = field(m, 'why') ?? ''
      show()
    }
  })
  const lost = () => {
    if (held) {
      release()
      why = 'Current off: the connection was lost.'
      show()
    }
  }
  window.addEventListener('gw-lost', lost)

  // The face: when it was held in the last seconds, height for on and off.
  const css = name => getComputedStyle(document.documentElement).getPropertyValue(name).trim() || '#888'
  const draw = () => {
    drawn = 0
    const w = box.clientWidth,
      h = box.clientHeight,
      t = now(),
      span = 8000
    const dpr = Math.min(devicePixelRatio || 1, 2)
    if (canvas.width !== Math.round(w * dpr)) {
      canvas.width = Math.round(w * dpr)
      canvas.height = Math.round(h * dpr)
    }
    const g = canvas.getContext('2d')
    g.setTransform(dpr, 0, 0, dpr, 0, 0)
    g.clearRect(0, 0, w, h)
    while (trace.length > 1 && trace[1][0] < t - span) trace.shift()
    g.beginPath()
    const x = at => w - ((t - at) / span) * w,
      y = on => (on ? 0.2 * h : 0.86 * h)
    let level = 0
    g.moveTo(0, y(trace.length && trace[0][0] < t - span ? trace[0][1] : 0))
    for (const [at, on] of trace) {
      g.lineTo(Math.max(x(at), 0), y(level))
      g.lineTo(Math.max(x(at), 0), y(on))
      level = on
    }
    g.lineTo(w, y(level))
    g.lineWidth = 2
    g.strokeStyle = held ? css('--bg') : css('--current-f')
    g.globalAlpha = held ? 0.7 : 0.55
    g.stroke()
    show()
    if (held || (trace.length && trace[trace.length - 1][0] > t - span)) run()
  }
  const run = () => {
    drawn ||= requestAnimationFrame(draw)
  }

  for (const key of ['label', 'held_word', 'note']) model.on(key, show)
  model.on('disabled', () => {
    box.disabled = model.disabled
    if (model.disabled) release()
  })
  box.disabled = model.disabled
  model.on('remove', () => {
    release()
    cancelAnimationFrame(drawn)
    window.removeEventListener('blur', release)
    window.removeEventListener('pagehide', release)
    window.removeEventListener('gw-lost', lost)
    document.removeEventListener('visibilitychange', hidden)
  })
  show()
  return box
}
