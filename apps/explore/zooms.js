const NS = 'http://www.w3.org/2000/svg'
const WIDTHS = [2.5, 1.75, 1.1, 1, 1]
const PAD = 0.12

const make = (name, css) => {
  const e = document.createElementNS(NS, name)
  if (css) e.setAttribute('class', css)
  return e
}
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
  const root = document.createElement('div')
  root.className = 'gwz'
  root.innerHTML = `<div class="strip" role="group" aria-label="Current over time at five zooms, short to long"></div>
    <div class="foot"><p class="read"></p><button type="button">Shorter</button><button type="button">Longer</button></div>
    <p class="vh" aria-live="polite"></p><p class="vh" id="gwz-help"></p>`
  const strip = root.querySelector('.strip'),
    read = root.querySelector('.read'),
    live = root.querySelector('[aria-live]')
  const [shorter, longer] = root.querySelectorAll('button')
  root.querySelector('#gwz-help').textContent =
    'Left and right move the window, with Shift by its whole length. ' +
    'Up and down go to the longer and shorter window. Plus and minus change its length.'
  const hint = () =>
    (root.classList.contains('single')
      ? 'Drag to choose a moment; Shorter shows it larger.'
      : 'Drag in a panel to see that moment in those on its left.') +
    (model.about.channels > 1 ? ' Dashed is the second channel.' : '')

  // ---- what goes to Python: one request at a time, and of a drag only the newest
  let sent = 0,
    newest = null,
    frame = 0,
    sentAt = 0
  const send = msg => {
    sent++
    sentAt = performance.now()
    model.send_msg(msg)
  }
  const pump = () => {
    frame = 0
    if (!newest) return
    if (model.answered < sent && performance.now() - sentAt < 400) {
      frame = requestAnimationFrame(pump)
      return
    }
    sent = model.answered
    const msg = newest
    newest = null
    send(msg)
  }
  const later = msg => {
    newest = msg
    frame ||= requestAnimationFrame(pump)
  }

  // ---- panels
  // `held`: where the hand has put a slice, shown at once and until Python's answer is there
  let chosen = 4,
    pointer = null,
    saidAt = 0,
    saying = 0,
    drag = null,
    held = null
  const win = n => model[`window_${n}`]
  const panels = model.about.words.map((word, n) => {
    const box = document.createElement('div')
    box.className = 'panel'
    set(box, { role: 'slider', 'aria-orientation': 'horizontal', 'aria-describedby': 'gwz-help' })
    box.innerHTML =
      '<div class="head" aria-hidden="true"><b></b><span></span></div><div class="plot"></div><div class="cap" aria-hidden="true"></div>'
    const svg = make('svg')
    svg.setAttribute('aria-hidden', 'true')
    const parts = {}
    for (const [key, tag] of [
      ['slice', 'rect'],
      ['grid', 'path'],
      ['zero', 'path'],
      ['one', 'path'],
      ['two', 'path'],
      ['cross', 'path'],
      ['dot', 'circle'],
    ]) {
      parts[key] = make(tag, key)
      svg.append(parts[key])
    }
    set(parts.dot, { r: 4, visibility: 'hidden' })
    parts.one.style.strokeWidth = WIDTHS[n]
    parts.two.style.strokeWidth = Math.max(1.5, WIDTHS[n] - 0.75)
    const plot = box.querySelector('.plot')
    plot.append(svg)
    strip.append(box)
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
  })
  const ties = make('svg', 'ties')
  ties.setAttribute('aria-hidden', 'true')
  strip.append(ties)

  const yOf = p => {
    const { low, high } = model.about,
      room = Math.max(high - low, 1),
      from = low - PAD * room,
      all = room * (1 + 2 * PAD)
    return y => p.h * (1 - (y - from) / all)
  }
  const sliceOf = n => {
    if (!n) return null
    const a = win(n),
      b = win(n - 1)
    return [(b.start - a.start) / a.length, b.length / a.length]
  }

  // ---- words
  const range = (n, share) => {
    const parts = win(n).lines.map(line => {
      const [least, most] = share == null ? [Math.min(...line.y), Math.max(...line.y)] : reading(line, share, panels[n].w)
      return most - least < 0.1 ? `${milli(most)} mA` : `${milli(least)} to ${milli(most)} mA`
    })
    return parts.length > 1 ? `channel 1 ${parts[0]}, channel 2 ${parts[1]}` : parts[0]
  }
  const where = n => `${win(n).from} to ${win(n).to}`
  const say = (text, value, aloud) => {
    read.replaceChildren(text)
    if (value) {
      const b = document.createElement('b')
      b.textContent = value
      read.append(b)
    }
    if (!aloud) return
    const speak = () => {
      saying = 0
      saidAt = performance.now()
      live.textContent = read.textContent
    }
    if (!saying) saying = setTimeout(speak, Math.max(0, 1000 - (performance.now() - saidAt)))
  }
  const tell = () => {
    if (pointer) {
      const a = win(pointer.n)
      say(
        `${panels[pointer.n].word}: ${moment(a.start + pointer.share * a.length, a.places)}, `,
        range(pointer.n, pointer.share),
        true,
      )
    } else if (root.contains(root.getRootNode().activeElement)) {
      say(`${panels[chosen].word}: ${where(chosen)}, `, range(chosen))
    } else say(hint())
  }

  // ---- drawing
  const cross = p => {
    let share = pointer && pointer.n === p.n ? pointer.share : null
    if (!pointer && root.getRootNode().activeElement === p.box) {
      const s = sliceOf(p.n)
      share = s ? s[0] + s[1] / 2 : 0.5
    }
    p.parts.cross.setAttribute('d', share == null ? '' : `M${(share * p.w).toFixed(1)} 0V${p.h}`)
    const top = share == null ? 0 : reading(win(p.n).lines[0], share, p.w)
    set(p.parts.dot, {
      visibility: share == null ? 'hidden' : 'visible',
      ...(share == null ? {} : { cx: share * p.w, cy: yOf(p)(Math.abs(top[0]) > Math.abs(top[1]) ? top[0] : top[1]) }),
    })
  }
  const draw = () => {
    drawn = 0
    if (held && !drag && !newest && model.answered >= sent) held = null
    const { low, high, captions, total } = model.about
    for (const p of panels) {
      const a = win(p.n),
        y = yOf(p),
        slice = sliceOf(p.n),
        { parts } = p
      if (p.head.textContent !== p.word) p.head.textContent = p.word
      p.span.textContent = a.span
      p.cap.textContent = captions[p.n]
      p.box.tabIndex = p.n === chosen ? 0 : -1
      p.box.classList.toggle('chosen', p.n === chosen)
      set(p.box, {
        'aria-label': `${p.word}, ${a.span}: ${captions[p.n]}`,
        'aria-valuemin': 0,
        'aria-valuemax': total,
        'aria-valuenow': Number((a.start + a.length / 2).toPrecision(8)),
        'aria-valuetext': `${where(p.n)}, ${range(p.n)}`,
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
        p.at = Math.min(Math.max((held && held.n === p.n ? held.share : slice[0] + slice[1] / 2) * p.w - w / 2, 0), p.w - w)
        set(parts.slice, { x: p.at.toFixed(1), y: -1, width: w.toFixed(1), height: p.h + 2 })
      } else set(parts.slice, { width: 0, height: 0, x: -9 })
      cross(p)
    }
    tie()
    shorter.disabled = chosen === 0
    longer.disabled = chosen === 4
    tell()
  }
  const tie = () => {
    ties.replaceChildren()
    const at = strip.getBoundingClientRect(),
      boxes = panels.map(p => p.plot.getBoundingClientRect())
    const left = boxes.find(b => b.width)
    if (!left) return
    const shown = panels[boxes.indexOf(left)],
      y = yOf(shown),
      { low, high } = model.about
    const label = (text, dy, css) => {
      const t = make('text', css)
      set(t, { x: left.left - at.left - 6, y: left.top - at.top + dy })
      t.textContent = text
      ties.append(t)
    }
    for (const v of new Set([high, 0, low])) label(minus(String(Number(v.toFixed(1)))), y(v))
    label('mA', 0.5 * (y(high) + y(0)), 'unit')
    if (root.classList.contains('single')) return
    let d = ''
    for (let n = 1; n < 5; n++) {
      const from = boxes[n - 1],
        to = boxes[n],
        p = panels[n],
        x0 = from.right - at.left,
        x1 = to.left - at.left + p.at
      d += `M${x0} ${from.top - at.top + 9}L${x1.toFixed(1)} ${to.top - at.top}M${x0} ${from.bottom - at.top - 9}L${x1.toFixed(1)} ${to.bottom - at.top}`
    }
    const path = make('path')
    path.setAttribute('d', d)
    ties.prepend(path)
  }
  let drawn = 0
  const redraw = () => {
    drawn ||= requestAnimationFrame(draw)
  }

  // ---- pointer
  for (const p of panels) {
    const share = e => {
      const b = p.plot.getBoundingClientRect()
      return Math.min(Math.max((e.clientX - b.left) / b.width, 0), 1)
    }
    const follow = e => {
      const a = win(p.n),
        t = a.start + share(e) * a.length
      if (p.n) {
        held = { n: p.n, share: (t - drag.off - a.start) / a.length }
        later({ kind: 'brush', panel: p.n, value: t - drag.off })
        redraw()
      } else {
        // the shortest window is pulled like a sheet of paper: it has no shorter one to move
        const b = p.plot.getBoundingClientRect()
        later({ kind: 'move', panel: 0, value: drag.start - ((e.clientX - drag.x) / b.width) * a.length })
      }
    }
    const fingers = new Map()
    let apart = 0
    const span = () => {
      const [a, b] = [...fingers.values()]
      return Math.max(Math.abs(a - b), 1)
    }
    p.plot.addEventListener('pointerdown', e => {
      if (e.button) return
      p.plot.setPointerCapture(e.pointerId)
      fingers.set(e.pointerId, e.clientX)
      if (fingers.size === 2) {
        drag = null
        apart = span()
        return
      }
      const a = win(p.n),
        x = share(e) * p.w,
        onSlice = p.n && x >= p.at - 4 && x <= p.at + p.across + 4
      const middle = p.n ? win(p.n - 1).start + win(p.n - 1).length / 2 : 0
      drag = { x: e.clientX, start: a.start, off: onSlice && p.across > 12 ? a.start + share(e) * a.length - middle : 0 }
      p.plot.classList.add('dragging')
      pointer = { n: p.n, share: share(e) }
      choose(p.n, false)
      if (p.n) follow(e)
      p.box.focus({ preventScroll: true })
      e.preventDefault()
    })
    p.plot.addEventListener('pointermove', e => {
      if (fingers.has(e.pointerId)) fingers.set(e.pointerId, e.clientX)
      if (fingers.size === 2) {
        // two fingers: a step for each fifth that they part or close, so that a pinch is a few messages
        const by = span() / apart
        if (by > 1.2 || by < 0.83) {
          apart = span()
          send({ kind: 'zoom', panel: p.n, value: 1 / by })
        }
        return
      }
      pointer = { n: p.n, share: share(e) }
      if (drag) follow(e)
      panels.forEach(cross)
      tell()
    })
    const end = e => {
      fingers.delete(e.pointerId)
      drag = null
      p.plot.classList.remove('dragging')
    }
    // The wheel works on the panel in use only: over the others the page scrolls on. Sideways it pans.
    p.plot.addEventListener(
      'wheel',
      e => {
        if (chosen !== p.n || !(e.ctrlKey || p.box.matches(':focus'))) return
        e.preventDefault()
        const side = e.shiftKey ? e.deltaY : e.deltaX
        if (Math.abs(side) > Math.abs(e.shiftKey ? 0 : e.deltaY))
          later({ kind: 'step', panel: p.n, value: Math.sign(side) * 0.1 })
        else if (e.deltaY) later({ kind: 'zoom', panel: p.n, value: e.deltaY < 0 ? 0.8 : 1.25 })
      },
      { passive: false },
    )
    for (const kind of ['pointerup', 'pointercancel', 'lostpointercapture']) p.plot.addEventListener(kind, end)
    p.plot.addEventListener('pointerleave', () => {
      if (!drag) {
        pointer = null
        redraw()
      }
    })
    p.box.addEventListener('focus', () => {
      choose(p.n, false)
      redraw()
    })
    p.box.addEventListener('blur', redraw)
  }

  // ---- keys
  const choose = (n, focus) => {
    n = Math.min(Math.max(n, 0), 4)
    const was = chosen
    chosen = n
    if (was !== n) {
      draw()
      if (root.classList.contains('single')) measure()
    }
    if (focus) panels[n].box.focus()
  }
  strip.addEventListener('keydown', e => {
    if (e.ctrlKey || e.metaKey || e.altKey) return
    const step = by => send({ kind: 'step', panel: chosen, value: by * (e.shiftKey ? 1 : 0.1) })
    const zoom = by => send({ kind: 'zoom', panel: chosen, value: by })
    const to = at => send({ kind: 'move', panel: chosen, value: at })
    const act = {
      ArrowLeft: () => step(-1),
      ArrowRight: () => step(1),
      ArrowUp: () => choose(chosen + 1, true),
      PageUp: () => choose(chosen + 1, true),
      ArrowDown: () => choose(chosen - 1, true),
      PageDown: () => choose(chosen - 1, true),
      '+': () => zoom(0.5),
      '=': () => zoom(0.5),
      '-': () => zoom(2),
      _: () => zoom(2),
      Home: () => to(0),
      End: () => to(model.about.total),
    }[e.key]
    if (!act) return
    e.preventDefault()
    pointer = held = null
    act()
  })
  shorter.addEventListener('click', () => choose(chosen - 1, false))
  longer.addEventListener('click', () => choose(chosen + 1, false))

  // ---- size
  let told = ''
  const measure = () => {
    const wide = root.clientWidth
    if (!wide) return
    root.classList.toggle('single', window.innerWidth < 700 || wide < 480)
    for (const p of panels) {
      p.w = p.plot.clientWidth
      p.h = p.plot.clientHeight
    }
    const some = Math.max(...panels.map(p => p.w))
    const pixels = panels.map(p => p.w || some)
    if (String(pixels) !== told) {
      told = String(pixels)
      later({ kind: 'size', pixels })
    }
    redraw()
  }
  const watch = new ResizeObserver(measure)
  watch.observe(root)
  watch.observe(panels[4].plot)
  watch.observe(panels[0].plot)

  for (let n = 0; n < 5; n++) model.on(`window_${n}`, redraw)
  model.on('about', redraw)
  model.on('answered', redraw)
  model.on('remove', () => {
    watch.disconnect()
    clearTimeout(saying)
  })
  draw()
  return root
}
