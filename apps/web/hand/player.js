// The hand of a page without components: shown in one posture, eased to another, or played from samples with a pause.
// Stands after shape.js and scene.js in one module.

const NEUTRAL_PADS = [{ from_mm: 52, to_mm: 92 }, { from_mm: 118, to_mm: 150 }]
const pageRoot = document.documentElement
const WHOLE_PX = 520
const lessMotion = matchMedia('(prefers-reduced-motion: reduce)')

export function motionLess() { return pageRoot.dataset.motion ? pageRoot.dataset.motion === 'less' : lessMotion.matches }

// Draws into `host`, which has a size; `small` leaves the words of the opening out, `whole` keeps the pads in the frame.
export function handView(host, { small = false, whole = false } = {}) {
  const box = document.createElement('div')
  box.style.cssText = 'width:100%;height:100%;overflow:hidden'
  host.append(box)
  const nodes = buildScene(box)
  if (small) {
    // seen small, a hand needs a stronger line and nothing round it
    for (const part of [nodes.table, nodes.tableLine]) part.setAttribute('display', 'none')
    for (const part of [nodes.bodyLine, nodes.thumbLine, ...nodes.far.map(f => f.line)]) part.setAttribute('stroke-width', 2.6)
  }
  let held = {}, shown = moment({}, null), run = null, tick = 0, ghost = 0, alive = true

  // the whole scene, pads and all, is drawn from some width on; seen smaller it is the same drawing, smaller
  const sized = (width, height) => { const k = whole ? Math.max(1, WHOLE_PX / width) : 1; return { width: width * k, height: height * k } }
  const complete = (state, base = null) => moment(small ? { ...state, opening: null } : state, base)
  const look = () => ({
    pads: held.pads?.length === 2 ? held.pads : NEUTRAL_PADS, object: held.object ?? null, held: Boolean(held.wrist_held),
    side: pageRoot.dataset.side ?? 'left', ...sized(box.clientWidth || 320, box.clientHeight || 213),
  })
  const paint = () => {
    if (!alive) return
    drawScene(nodes, shown, look(), run !== null)
    if (held.pads && !held.pads.length) for (const part of [...nodes.pads.flatMap(Object.values), ...nodes.glow]) part.setAttribute('visibility', 'hidden')
  }
  const repaint = () => {
    paintSkin(nodes, pageRoot.dataset.skin ?? 'clay', pageRoot.dataset.theme === 'dark')
    paint()
  }
  const step = now => {
    tick = 0
    if (!run) return
    if (run.frames) {
      const f = run.frames, t = run.offset + now - run.start
      let i = 0
      while (i < f.length - 2 && f[i + 1].t_ms <= t) i++
      const a = f[i], b = f[Math.min(i + 1, f.length - 1)], part = clamp((t - a.t_ms) / (b.t_ms - a.t_ms || 1), 0, 1)
      shown = between(a.moment, b.moment, part)
      const at = Math.min(t, f[f.length - 1].t_ms), tell = run.told, ended = t >= f[f.length - 1].t_ms
      if (ended) run = null
      paint()
      tell?.(at, ended)
    } else {
      const part = clamp((now - run.start) / EASE_MS, 0, 1)
      shown = part < 1 ? between(run.from, run.to, easeOut(part)) : run.to
      if (part >= 1) run = null
      paint()
    }
    if (run && !tick) tick = requestAnimationFrame(step)
  }
  const go = next => { run = next; if (!tick) tick = requestAnimationFrame(step) }
  const stop = () => { run = null; cancelAnimationFrame(tick); tick = 0 }

  const jump = to => {
    // Without motion the end is shown at once; a thin outline of the start stays for a second.
    const shape = handShape(shown.angle)
    put(nodes.before, { d: pathText(shape.body) + pathText(shape.thumb.curve), visibility: 'visible' })
    clearTimeout(ghost)
    ghost = setTimeout(() => put(nodes.before, { visibility: 'hidden' }), 1000)
    stop(); shown = to; paint()
  }
  const readied = frames => {
    let base = shown
    return frames.map(f => ({ t_ms: f.t_ms, moment: (base = complete(f, base)) }))
  }

  const watcher = new MutationObserver(repaint)
  watcher.observe(pageRoot, { attributes: true, attributeFilter: ['data-theme', 'data-skin', 'data-side'] })
  const sizer = new ResizeObserver(paint)
  sizer.observe(box)

  return {
    svg: nodes.svg,
    say(label) { nodes.svg.setAttribute('aria-label', label) },
    // `how`: "at once" follows a person's hand, "ease" is the change from one posture to another.
    show(state, how = 'at once') {
      held = { ...held, ...state }
      const to = complete(state)
      const moved = JOINTS.some(j => Math.abs(to.angle[j] - shown.angle[j]) > 0.05)
      if (how === 'ease' && moved && !motionLess()) go({ start: performance.now(), from: shown, to })
      else if (how === 'ease' && moved) jump(to)
      else { stop(); shown = to; repaint() }
    },
    // Plays from `from_ms`; `told(t_ms, ended)` after every picture.
    play(frames, told, from_ms = 0) { go({ start: performance.now(), frames: readied(frames), offset: from_ms, told }) },
    // One moment of the samples.
    hold(frames, t_ms) {
      stop()
      const f = readied(frames)
      let i = 0
      while (i < f.length - 2 && f[i + 1].t_ms <= t_ms) i++
      const a = f[i], b = f[Math.min(i + 1, f.length - 1)]
      shown = between(a.moment, b.moment, clamp((t_ms - a.t_ms) / (b.t_ms - a.t_ms || 1), 0, 1))
      paint()
    },
    step(frames, t_ms) { const f = readied(frames); jump((f.find(x => x.t_ms >= t_ms) ?? f[f.length - 1]).moment) },
    stop,
    destroy() { alive = false; stop(); clearTimeout(ghost); watcher.disconnect(); sizer.disconnect(); box.remove() },
  }
}

export { clamp, color, make, num, put }
