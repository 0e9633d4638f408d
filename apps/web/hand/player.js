// What the hand shows at each time: one posture eased into another, or the model's own samples played in their time.

import { clamp, pathText, put } from '../svg.js'
import { TENDONS, handShape } from './shape.js'
import { FINGERS, JOINTS, allJoints } from './bones.js'

const EASE_MS = 180
const OUTLINE_MS = 1000

// Between which two of `count` rising places `x` lies, and how far from the first to the second; held at the ends.
export function placeAmong(count, at, x) {
  let i = 0
  while (i < count - 2 && at(i + 1) <= x) i++
  const j = Math.min(i + 1, count - 1)
  return [i, j, clamp((x - at(i)) / (at(j) - at(i) || 1), 0, 1)]
}

// Pull of one finger's own part of a muscle, as `ring.EDC`; a state without it has the whole muscle's share.
const PARTS = ['EDC', 'FDP', 'FDS'].flatMap(k => FINGERS.map(f => [`${f}.${k}`, k]))
const fraction = v => clamp(Number.isFinite(v) ? v : 0, 0, 1)

// What is drawn of a state, complete and finite; missing parts come from `base`.
export function posture(raw, base) {
  const angle = allJoints(raw.angle_deg ?? {}, base?.angle),
    tension = {}
  for (const k of TENDONS) tension[k] = fraction(raw.tension?.[k] ?? base?.tension[k])
  for (const [part, k] of PARTS) tension[part] = fraction(raw.tension?.[part] ?? raw.tension?.[k] ?? base?.tension[part])
  const s = raw.slack_mm,
    loose = k => Math.max(0, (typeof s === 'number' ? s : s?.[k]) ?? base?.slack[k] ?? 0)
  const o = raw.opening === undefined && base ? base.opening : raw.opening
  const good = o?.points?.length === 2 && o.points.every(p => p?.length === 2 && p.every(Number.isFinite))
  return {
    angle,
    tension,
    slack: { central: loose('central'), terminal: loose('terminal') },
    recruited: {
      openers: fraction(raw.recruited?.openers ?? base?.recruited.openers),
      closers: fraction(raw.recruited?.closers ?? base?.recruited.closers),
    },
    current: fraction(raw.current ?? base?.current),
    opening: o && Number.isFinite(o.mm) ? { mm: o.mm, points: good ? o.points : null } : null,
  }
}

function between(a, b, f) {
  const mix = (x, y) => x + (y - x) * f
  const each = (p, q) => Object.fromEntries(Object.keys(q).map(k => [k, mix(p[k], q[k])]))
  let opening = b.opening
  if (a.opening && b.opening) {
    const p = a.opening.points,
      q = b.opening.points
    opening = {
      mm: mix(a.opening.mm, b.opening.mm),
      points: p && q ? q.map((v, i) => [mix(p[i][0], v[0]), mix(p[i][1], v[1])]) : q,
    }
  }
  return {
    angle: each(a.angle, b.angle),
    tension: each(a.tension, b.tension),
    slack: each(a.slack, b.slack),
    recruited: each(a.recruited, b.recruited),
    current: mix(a.current, b.current),
    opening,
  }
}

// Frames of states as frames of postures; what a frame leaves out stays as it was.
export function postures(frames, base = null) {
  let last = base
  return frames.map(f => ({ t_ms: f.t_ms, posture: (last = posture(f, last)) }))
}

// The posture at one time of such frames.
export function postureAt(frames, t_ms) {
  const [i, j, f] = placeAmong(frames.length, k => frames[k].t_ms, t_ms)
  return between(frames[i].posture, frames[j].posture, f)
}

// Ease-out (0.2, 0, 0, 1): the curve x(s), y(s) solved for x = t.
function easeOut(t) {
  let s = t
  for (let i = 0; i < 8; i++) {
    const x = 0.6 * s * (1 - s) * (1 - s) + s * s * s
    const slope = 0.6 * (1 - s) * (1 - s) - 1.2 * s * (1 - s) + 3 * s * s
    s = clamp(s - (x - t) / (slope || 1e-6), 0, 1)
  }
  return 3 * s * s * (1 - s) + s * s * s
}

// The hand of one scene in time. `paint(posture, moving)` draws it; `still()` says whether motion is unwanted; `outline` is a path
// for the thin line of the start that stays for a second where the end is shown at once.
export function handPlayer({ paint, still, outline }) {
  const player = { paint, outline }
  player.shown = posture({}, null)
  player.run = null
  player.tick = 0
  player.ghost = 0

  return {
    get shown() {
      return player.shown
    },
    get moving() {
      return player.run !== null
    },
    draw: () => draw(player),
    show: to => show(player, to),
    jump: to => jump(player, to),
    stop: () => stop(player),
    set(to) {
      stop(player)
      player.shown = to
    },
    ease(to) {
      const moved = JOINTS.some(j => Math.abs(to.angle[j] - player.shown.angle[j]) > 0.05)
      if (!still()) go(player, { start: performance.now(), from: player.shown, to })
      else if (moved) jump(player, to)
      else show(player, to)
    },
    // Plays frames of postures from `offset` ms on; `told(t_ms, ended)` after every picture.
    play(frames, { offset = 0, told } = {}) {
      go(player, { start: performance.now(), frames, offset, told })
    },
    hold() {
      if (player.run?.frames) {
        player.run.held = performance.now()
        cancelAnimationFrame(player.tick)
        player.tick = 0
      }
    },
    resume() {
      if (player.run?.held !== undefined) {
        player.run.start += performance.now() - player.run.held
        player.run.held = undefined
        go(player, player.run)
      }
    },
    destroy() {
      stop(player)
      clearTimeout(player.ghost)
    },
  }
}

function draw(player) {
  return player.paint(player.shown, player.run !== null)
}

function step(player, now) {
  player.tick = 0
  if (!player.run || player.run.held !== undefined) return
  const here = player.run
  if (here.frames) {
    const last = here.frames[here.frames.length - 1].t_ms,
      t = Math.min(here.offset + now - here.start, last),
      ended = t >= last
    player.shown = postureAt(here.frames, t)
    if (ended) player.run = null
    draw(player)
    here.told?.(t, ended)
  } else {
    const part = clamp((now - here.start) / EASE_MS, 0, 1)
    player.shown = part < 1 ? between(here.from, here.to, easeOut(part)) : here.to
    if (part >= 1) player.run = null
    draw(player)
  }
  if (player.run && !player.tick) player.tick = requestAnimationFrame(now => step(player, now))
}

function go(player, next) {
  player.run = next
  if (!player.tick) player.tick = requestAnimationFrame(now => step(player, now))
}

function stop(player) {
  player.run = null
  cancelAnimationFrame(player.tick)
  player.tick = 0
}

function show(player, to) {
  stop(player)
  player.shown = to
  draw(player)
}

function jump(player, to) {
  const shape = handShape(player.shown.angle)
  put(player.outline, { d: pathText(shape.body) + pathText(shape.thumb.curve), visibility: 'visible' })
  clearTimeout(player.ghost)
  player.ghost = setTimeout(() => put(player.outline, { visibility: 'hidden' }), OUTLINE_MS)
  show(player, to)
}
