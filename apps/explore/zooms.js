import { element } from '../web/element.js'
import { make } from '../web/svg.js'

const WIDTHS = [2.5, 1.75, 1.1, 1, 1]
const PAD = 0.12

const set = (e, pairs) => {
  for (const k in pairs) e.setAttribute(k, pairs[k])
}
const minus = text => text.replace('-', '\u2212')
const milli = y => minus((Math.abs(y) < 0.05 ? 0 : y).toFixed(1))

export function moment(s, places) {
  s = Number(s.toFixed(places))
  const min = Math.floor(s / 60)
  return (min ? `${min} min ` : '') + `${(s - 60 * min).toFixed(places)} s`
}

/* Current of one line at a place in its window; where pulses stand in a thicket, the lowest and highest of those under the pointer. */
export function reading(line, share, pixels) {
  const { x, y, steps } = line,
    at = share * steps,
    half = ((line.dense ? 3 : 0.5) * steps) / Math.max(pixels, 1)
  let low = 0,
    high = x.length
  while (low < high) {
    const m = (low + high) >> 1
    x[m] < at - half ? (low = m + 1) : (high = m)
  }
  let least = Infinity,
    most = -Infinity
  const take = v => {
    least = Math.min(least, v)
    most = Math.max(most, v)
  }
  if (line.dense) for (let i = low; i < x.length && x[i] <= at + half; i++) take(y[i])
  if (least === Infinity) {
    let i = low
    while (i < x.length && x[i] <= at) i++
    const a = Math.max(i - 1, 0),
      b = Math.min(i, x.length - 1),
      run = x[b] - x[a]
    take(run > 0 ? y[a] + ((y[b] - y[a]) * (at - x[a])) / run : y[a])
  }
  return [least, most]
}

/* A line as a path; the second channel's dashes could not be seen in a thicket of pulses, so there only its outline is drawn. */
export function pathOf(line, width, yOf, outline) {
  const { x, y, steps } = line,
    k = width / steps
  if (!(outline && line.dense)) {
    let d = ''
    for (let i = 0; i < x.length; i++) d += `${i ? 'L' : 'M'}${(x[i] * k).toFixed(1)} ${yOf(y[i]).toFixed(1)}`
    return d
  }
  const cell = 6,
    count = Math.ceil(width / cell),
    top = new Array(count).fill(0),
    bottom = new Array(count).fill(0)
  for (let i = 0; i < x.length; i++) {
    const n = Math.min(count - 1, Math.floor((x[i] * k) / cell))
    top[n] = Math.max(top[n], y[i])
    bottom[n] = Math.min(bottom[n], y[i])
  }
  const edge = v => v.map((h, n) => `${n ? 'L' : 'M'}${((n + 0.5) * cell).toFixed(1)} ${yOf(h).toFixed(1)}`).join('')
  return edge(top) + edge(bottom)
}

export function render({ model }) {
  const view = { model }
  view.root = element('div', 'gwz')
  view.root.innerHTML = `<div class="strip" role="group" aria-label="Current over time at five zooms, short to long"></div>
    <div class="foot"><p class="read"></p><button type="button">Shorter</button><button type="button">Longer</button></div>
    <p class="vh" aria-live="polite"></p><p class="vh" id="gwz-help"></p>`
  view.strip = view.root.querySelector('.strip')
  view.read = view.root.querySelector('.read')
  view.live = view.root.querySelector('[aria-live]')
  ;[view.shorter, view.longer] = view.root.querySelectorAll('button')

  view.root.querySelector('#gwz-help').textContent =
    'Left and right move the window, with Shift by its whole length. ' +
    'Up and down go to the longer and shorter window. Plus and minus change its length.'

  // ---- what goes to Python: one request at a time, and of a drag only the newest
  view.sent = 0
  view.newest = null
  view.frame = 0
  view.sentAt = 0

  // ---- panels
  // `held`: where the hand has put a slice, shown at once and until Python's answer is there
  view.chosen = 4
  view.pointer = null
  view.saidAt = 0
  view.saying = 0
  view.drag = null
  view.held = null

  view.panels = view.model.about.words.map((word, n) => panelOf(view, word, n))
  view.ties = make(view.strip, 'svg', { class: 'ties', 'aria-hidden': 'true' })

  view.drawn = 0

  for (const p of view.panels) listenTo(view, p)

  listenToKeys(view)

  // ---- size
  view.told = ''

  const watch = new ResizeObserver(() => measure(view))
  watch.observe(view.root)
  watch.observe(view.panels[4].plot)
  watch.observe(view.panels[0].plot)

  for (let n = 0; n < 5; n++) view.model.on(`window_${n}`, () => redraw(view))
  view.model.on('about', () => redraw(view))
  view.model.on('answered', () => redraw(view))
  view.model.on('remove', () => {
    watch.disconnect()
    clearTimeout(view.saying)
  })
  draw(view)
  return view.root
}

function hint(view) {
  return (
    (view.root.classList.contains('single')
      ? 'Drag to choose a moment; Shorter shows it larger.'
      : 'Drag in a panel to see that moment in those on its left.') +
    (view.model.about.channels > 1 ? ' Dashed is the second channel.' : '')
  )
}

function send(view, msg) {
  view.sent++
  view.sentAt = performance.now()
  view.model.send_msg(msg)
}

function pump(view) {
  view.frame = 0
  if (!view.newest) return
  if (view.model.answered < view.sent && performance.now() - view.sentAt < 400) {
    view.frame = requestAnimationFrame(() => pump(view))
    return
  }
  view.sent = view.model.answered
  const msg = view.newest
  view.newest = null
  send(view, msg)
}

function later(view, msg) {
  view.newest = msg
  view.frame ||= requestAnimationFrame(() => pump(view))
}

function win(view, n) {
  return view.model[`window_${n}`]
}

function panelOf(view, word, n) {
  const box = element('div', 'panel')
  set(box, { role: 'slider', 'aria-orientation': 'horizontal', 'aria-describedby': 'gwz-help' })
  box.innerHTML =
    '<div class="head" aria-hidden="true"><b></b><span></span></div><div class="plot"></div><div class="cap" aria-hidden="true"></div>'
  const plot = box.querySelector('.plot')
  const svg = make(plot, 'svg', { 'aria-hidden': 'true' })
  const parts = {}
  for (const [key, tag] of [
    ['slice', 'rect'],
    ['grid', 'path'],
    ['zero', 'path'],
    ['one', 'path'],
    ['two', 'path'],
    ['cross', 'path'],
    ['dot', 'circle'],
  ])
    parts[key] = make(svg, tag, { class: key })
  set(parts.dot, { r: 4, visibility: 'hidden' })
  parts.one.style.strokeWidth = WIDTHS[n]
  parts.two.style.strokeWidth = Math.max(1.5, WIDTHS[n] - 0.75)
  view.strip.append(box)
  return {
    n,
    word,
    box,
    plot,
    svg,
    parts,
    head: box.querySelector('b'),
    span: box.querySelector('span'),
    cap: box.querySelector('.cap'),
    w: 0,
    h: 0,
  }
}

function yOf(view, p) {
  const { low, high } = view.model.about,
    room = Math.max(high - low, 1),
    from = low - PAD * room,
    all = room * (1 + 2 * PAD)
  return y => p.h * (1 - (y - from) / all)
}

function sliceOf(view, n) {
  if (!n) return null
  const a = win(view, n),
    b = win(view, n - 1)
  return [(b.start - a.start) / a.length, b.length / a.length]
}

function range(view, n, share) {
  const parts = win(view, n).lines.map(line => {
    const [least, most] = share == null ? [Math.min(...line.y), Math.max(...line.y)] : reading(line, share, view.panels[n].w)
    return most - least < 0.1 ? `${milli(most)} mA` : `${milli(least)} to ${milli(most)} mA`
  })
  return parts.length > 1 ? `channel 1 ${parts[0]}, channel 2 ${parts[1]}` : parts[0]
}

function where(view, n) {
  return `${win(view, n).from} to ${win(view, n).to}`
}

function say(view, text, value, aloud) {
  view.read.replaceChildren(text)
  if (value) {
    const b = element('b', '', value)
    view.read.append(b)
  }
  if (!aloud) return
  const speak = () => {
    view.saying = 0
    view.saidAt = performance.now()
    view.live.textContent = view.read.textContent
  }
  if (!view.saying) view.saying = setTimeout(speak, Math.max(0, 1000 - (performance.now() - view.saidAt)))
}

function tell(view) {
  if (view.pointer) {
    const a = win(view, view.pointer.n)
    say(
      view,
      `${view.panels[view.pointer.n].word}: ${moment(a.start + view.pointer.share * a.length, a.places)}, `,
      range(view, view.pointer.n, view.pointer.share),
      true,
    )
  } else if (view.root.contains(view.root.getRootNode().activeElement)) {
    say(view, `${view.panels[view.chosen].word}: ${where(view, view.chosen)}, `, range(view, view.chosen))
  } else say(view, hint(view))
}

function cross(view, p) {
  let share = view.pointer && view.pointer.n === p.n ? view.pointer.share : null
  if (!view.pointer && view.root.getRootNode().activeElement === p.box) {
    const s = sliceOf(view, p.n)
    share = s ? s[0] + s[1] / 2 : 0.5
  }
  p.parts.cross.setAttribute('d', share == null ? '' : `M${(share * p.w).toFixed(1)} 0V${p.h}`)
  const top = share == null ? 0 : reading(win(view, p.n).lines[0], share, p.w)
  set(p.parts.dot, {
    visibility: share == null ? 'hidden' : 'visible',
    ...(share == null ? {} : { cx: share * p.w, cy: yOf(view, p)(Math.abs(top[0]) > Math.abs(top[1]) ? top[0] : top[1]) }),
  })
}

function draw(view) {
  view.drawn = 0
  if (view.held && !view.drag && !view.newest && view.model.answered >= view.sent) view.held = null
  const { low, high, captions, total } = view.model.about
  for (const p of view.panels) {
    const a = win(view, p.n),
      y = yOf(view, p),
      slice = sliceOf(view, p.n),
      { parts } = p
    if (p.head.textContent !== p.word) p.head.textContent = p.word
    p.span.textContent = a.span
    p.cap.textContent = captions[p.n]
    p.box.tabIndex = p.n === view.chosen ? 0 : -1
    p.box.classList.toggle('chosen', p.n === view.chosen)
    set(p.box, {
      'aria-label': `${p.word}, ${a.span}: ${captions[p.n]}`,
      'aria-valuemin': 0,
      'aria-valuemax': total,
      'aria-valuenow': Number((a.start + a.length / 2).toPrecision(8)),
      'aria-valuetext': `${where(view, p.n)}, ${range(view, p.n)}`,
    })
    if (!p.w) continue
    set(p.svg, { viewBox: `0 0 ${p.w} ${p.h}` })
    parts.grid.setAttribute(
      'd',
      [low, high]
        .filter(v => v)
        .map(v => `M0 ${y(v).toFixed(1)}H${p.w}`)
        .join(''),
    )
    parts.zero.setAttribute('d', `M0 ${y(0).toFixed(1)}H${p.w}`)
    parts.one.setAttribute('d', pathOf(a.lines[0], p.w, y, false))
    parts.two.setAttribute('d', a.lines[1] ? pathOf(a.lines[1], p.w, y, true) : '')
    if (slice) {
      const w = Math.max(slice[1] * p.w, 4)
      p.across = w
      p.at = Math.min(
        Math.max((view.held && view.held.n === p.n ? view.held.share : slice[0] + slice[1] / 2) * p.w - w / 2, 0),
        p.w - w,
      )
      set(parts.slice, { x: p.at.toFixed(1), y: -1, width: w.toFixed(1), height: p.h + 2 })
    } else set(parts.slice, { width: 0, height: 0, x: -9 })
    cross(view, p)
  }
  tie(view)
  view.shorter.disabled = view.chosen === 0
  view.longer.disabled = view.chosen === 4
  tell(view)
}

function tie(view) {
  view.ties.replaceChildren()
  const at = view.strip.getBoundingClientRect(),
    boxes = view.panels.map(p => p.plot.getBoundingClientRect())
  const left = boxes.find(b => b.width)
  if (!left) return
  const shown = view.panels[boxes.indexOf(left)],
    y = yOf(view, shown),
    { low, high } = view.model.about
  const label = (text, dy, css) => {
    const place = { x: left.left - at.left - 6, y: left.top - at.top + dy }
    make(view.ties, 'text', css ? { class: css, ...place } : place).textContent = text
  }
  for (const v of new Set([high, 0, low])) label(minus(String(Number(v.toFixed(1)))), y(v))
  // the unit stands between two numbers where there is room for it, else above the upper one
  const em = parseFloat(getComputedStyle(view.ties).fontSize),
    between = 0.5 * (y(high) + y(0))
  label('mA', between - y(high) > 1.25 * em ? between : y(high) - 1.2 * em, 'unit')
  if (view.root.classList.contains('single')) return
  let d = ''
  for (let n = 1; n < 5; n++) {
    const from = boxes[n - 1],
      to = boxes[n],
      p = view.panels[n],
      x0 = from.right - at.left,
      x1 = to.left - at.left + p.at
    d += `M${x0} ${from.top - at.top + 9}L${x1.toFixed(1)} ${to.top - at.top}M${x0} ${from.bottom - at.top - 9}L${x1.toFixed(1)} ${to.bottom - at.top}`
  }
  view.ties.prepend(make(view.ties, 'path', { d }))
}

function redraw(view) {
  view.drawn ||= requestAnimationFrame(() => draw(view))
}

function listenTo(view, p) {
  const touch = {}

  touch.fingers = new Map()
  touch.apart = 0
  touch.span = () => {
    const [a, b] = [...touch.fingers.values()]
    return Math.max(Math.abs(a - b), 1)
  }
  listenToFirstTouch(view, p, touch)
  p.plot.addEventListener('pointermove', e => {
    if (touch.fingers.has(e.pointerId)) touch.fingers.set(e.pointerId, e.clientX)
    if (touch.fingers.size === 2) {
      // two fingers: a step for each fifth that they part or close, so that a pinch is a few messages
      const by = touch.span() / touch.apart
      if (by > 1.2 || by < 0.83) {
        touch.apart = touch.span()
        send(view, { kind: 'zoom', panel: p.n, value: 1 / by })
      }
      return
    }
    view.pointer = { n: p.n, share: share(p, e) }
    if (view.drag) follow(view, p, e)
    view.panels.forEach(p => cross(view, p))
    tell(view)
  })
  const end = e => {
    touch.fingers.delete(e.pointerId)
    view.drag = null
    p.plot.classList.remove('dragging')
  }
  // The wheel works on the panel in use only: over the others the page scrolls on. Sideways it pans.
  p.plot.addEventListener(
    'wheel',
    e => {
      if (view.chosen !== p.n || !(e.ctrlKey || p.box.matches(':focus'))) return
      e.preventDefault()
      const side = e.shiftKey ? e.deltaY : e.deltaX
      if (Math.abs(side) > Math.abs(e.shiftKey ? 0 : e.deltaY))
        later(view, { kind: 'step', panel: p.n, value: Math.sign(side) * 0.1 })
      else if (e.deltaY) later(view, { kind: 'zoom', panel: p.n, value: e.deltaY < 0 ? 0.8 : 1.25 })
    },
    { passive: false },
  )
  for (const kind of ['pointerup', 'pointercancel', 'lostpointercapture']) p.plot.addEventListener(kind, end)
  p.plot.addEventListener('pointerleave', () => {
    if (!view.drag) {
      view.pointer = null
      redraw(view)
    }
  })
  p.box.addEventListener('focus', () => {
    choose(view, p.n, false)
    redraw(view)
  })
  p.box.addEventListener('blur', () => redraw(view))
}

function share(p, e) {
  const b = p.plot.getBoundingClientRect()
  return Math.min(Math.max((e.clientX - b.left) / b.width, 0), 1)
}

function follow(view, p, e) {
  const a = win(view, p.n),
    t = a.start + share(p, e) * a.length
  if (p.n) {
    view.held = { n: p.n, share: (t - view.drag.off - a.start) / a.length }
    later(view, { kind: 'brush', panel: p.n, value: t - view.drag.off })
    redraw(view)
  } else {
    // the shortest window is pulled like a sheet of paper: it has no shorter one to move
    const b = p.plot.getBoundingClientRect()
    later(view, { kind: 'move', panel: 0, value: view.drag.start - ((e.clientX - view.drag.x) / b.width) * a.length })
  }
}

function listenToFirstTouch(view, p, touch) {
  p.plot.addEventListener('pointerdown', e => {
    if (e.button) return
    p.plot.setPointerCapture(e.pointerId)
    touch.fingers.set(e.pointerId, e.clientX)
    if (touch.fingers.size === 2) {
      view.drag = null
      touch.apart = touch.span()
      return
    }
    const a = win(view, p.n),
      x = share(p, e) * p.w,
      onSlice = p.n && x >= p.at - 4 && x <= p.at + p.across + 4
    const middle = p.n ? win(view, p.n - 1).start + win(view, p.n - 1).length / 2 : 0
    view.drag = { x: e.clientX, start: a.start, off: onSlice && p.across > 12 ? a.start + share(p, e) * a.length - middle : 0 }
    p.plot.classList.add('dragging')
    view.pointer = { n: p.n, share: share(p, e) }
    choose(view, p.n, false)
    if (p.n) follow(view, p, e)
    p.box.focus({ preventScroll: true })
    e.preventDefault()
  })
}

function choose(view, n, focus) {
  n = Math.min(Math.max(n, 0), 4)
  const was = view.chosen
  view.chosen = n
  if (was !== n) {
    draw(view)
    if (view.root.classList.contains('single')) measure(view)
  }
  if (focus) view.panels[n].box.focus()
}

function measure(view) {
  const wide = view.root.clientWidth
  if (!wide) return
  view.root.classList.toggle('single', window.innerWidth < 700 || wide < 480)
  for (const p of view.panels) {
    p.w = p.plot.clientWidth
    p.h = p.plot.clientHeight
  }
  const some = Math.max(...view.panels.map(p => p.w))
  const pixels = view.panels.map(p => p.w || some)
  if (String(pixels) !== view.told) {
    view.told = String(pixels)
    later(view, { kind: 'size', pixels })
  }
  redraw(view)
}

function listenToKeys(view) {
  view.strip.addEventListener('keydown', e => {
    if (e.ctrlKey || e.metaKey || e.altKey) return
    const step = by => send(view, { kind: 'step', panel: view.chosen, value: by * (e.shiftKey ? 1 : 0.1) })
    const zoom = by => send(view, { kind: 'zoom', panel: view.chosen, value: by })
    const to = at => send(view, { kind: 'move', panel: view.chosen, value: at })
    const act = {
      ArrowLeft: () => step(-1),
      ArrowRight: () => step(1),
      ArrowUp: () => choose(view, view.chosen + 1, true),
      PageUp: () => choose(view, view.chosen + 1, true),
      ArrowDown: () => choose(view, view.chosen - 1, true),
      PageDown: () => choose(view, view.chosen - 1, true),
      '+': () => zoom(0.5),
      '=': () => zoom(0.5),
      '-': () => zoom(2),
      _: () => zoom(2),
      Home: () => to(0),
      End: () => to(view.model.about.total),
    }[e.key]
    if (!act) return
    e.preventDefault()
    view.pointer = view.held = null
    act()
  })
  view.shorter.addEventListener('click', () => choose(view, view.chosen - 1, false))
  view.longer.addEventListener('click', () => choose(view, view.chosen + 1, false))
}
