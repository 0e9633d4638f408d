// The five pictures of Explain, drawn from what the model gave; the page and the sheet share them.

import { FOREARM_MM } from './given.js'
import { posture, postureAt } from './hand/player.js'
import { drawObject } from './hand/around.js'
import { buildScene } from './hand/build.js'
import { clamp, color, lineText, make, num, put } from './svg.js'
import { drawFrame, handBox } from './hand/frame.js'
import { drawHand, drawPads, paintSkin } from './hand/scene.js'
import { beside } from './hand/bones.js'
import { forearmWidth, handShape } from './hand/shape.js'

const WIDE = 800,
  HIGH = 500
const NO_BODY = { tension: {}, slack_mm: 0, recruited: {}, opening: null }

function poseOf(angle, current) {
  return posture({ ...NO_BODY, angle_deg: angle, current }, null)
}

// One hand in a box of a picture. `poses` are all it will take, so that the view never jumps.
function handIn(parent, box, poses, o = {}) {
  const n = buildScene(parent),
    arm = o.arm ?? false
  n.svg.removeAttribute('style')
  for (const k of ['role', 'aria-label']) n.svg.removeAttribute(k)
  for (const part of [n.rest, n.table, n.tableLine, n.hood.parentNode, n.text, n.splintStand, ...n.splint, n.straps])
    part.setAttribute('display', 'none')
  for (const b of n.belly) b.lens.parentNode && (b.lens.style.display = b.fibre.style.display = 'none')
  if (!arm) for (const p of n.pads) for (const part of Object.values(p)) part.setAttribute('display', 'none')
  const boxes = poses.map(a => handBox(handShape(poseOf(a, 0).angle)))
  let x1 = Math.max(...boxes.map(b => b.x1)) + 4
  let low = Math.min(...boxes.map(b => b.y0), arm ? -50 : -30) - 4,
    top = Math.max(...boxes.map(b => b.y1), arm ? 66 : 26) + 6
  if (o.object) {
    x1 = Math.max(x1, o.object.center_mm ? o.object.center_mm[0] + o.object.diameter_mm / 2 + 4 : x1)
    low = Math.min(low, o.object.center_mm ? o.object.center_mm[1] - o.object.diameter_mm / 2 - 3 : low - (o.object.held ? 6 : 0))
  }
  const x0 = arm ? -236 : -74,
    w = x1 - x0,
    h = top - low
  const scale = Math.min(box.w / w, box.h / h)
  const at = { x: box.x + (box.w - w * scale) / 2, y: box.y + (box.h - h * scale) / 2, w: w * scale, h: h * scale }
  for (const [k, v] of Object.entries({ x: at.x, y: at.y, width: at.w, height: at.h })) n.svg.setAttribute(k, num(v))
  const mirror = o.side === 'right' ? -1 : 1
  const view = { narrow: !arm, x0, y1: top, w, h, tableY: low, flip: 1 }
  paintSkin(n, o.skin ?? 'clay', o.dark ?? false)
  // a thicker line, for a picture that is seen small or from afar
  const to = (angle, current = 0) => {
    const state = poseOf(angle, current),
      shape = handShape(state.angle)
    drawFrame(n, view, at.w, mirror)
    drawHand(n, shape, state)
    if (arm && o.pads) {
      if (o.around === 'back') drawPads(n, state, o.pads, view)
      else padsElsewhere(n, o.pads, o.around, current)
    } else for (const e of n.glow) e.setAttribute('display', 'none')
    drawObject(n, shape, o.object ?? null, state, view)
  }
  // where a point of the arm lies in the picture
  const place = ([x, y]) => [mirror > 0 ? at.x + (x - x0) * scale : at.x + at.w - (x - x0) * scale, at.y + (top - y) * scale]
  return { to, place, at, scale }
}

// Pads that do not lie on the back of the arm: below it, on the near side, or behind it as an outline.
function padsElsewhere(n, pads, around, current) {
  for (const p of n.pads) for (const part of Object.values(p)) part.setAttribute('display', 'none')
  for (const e of n.glow) e.setAttribute('display', 'none')
  if (around === 'none') return
  n.own ??= [0, 1].map(() => make(n.world, 'path', { 'stroke-width': 2 }))
  pads.forEach(({ from_mm, to_mm }, i) => {
    const x = s => s - FOREARM_MM,
      mid = (from_mm + to_mm) / 2,
      edge = s => -forearmWidth(s, -1)
    const behind = around === 'little'
    const corners =
      around === 'palm'
        ? [
            [x(from_mm), edge(from_mm) - 3.4],
            [x(to_mm), edge(to_mm) - 3.4],
            [x(to_mm), edge(to_mm) + 9],
            [x(from_mm), edge(from_mm) + 9],
          ]
        : [
            [x(from_mm), -14],
            [x(to_mm), -14],
            [x(to_mm), 12],
            [x(from_mm), 12],
          ].map(([a, b]) => [a, b + (forearmWidth(mid, 1) - forearmWidth(mid, -1)) / 2])
    put(n.own[i], {
      d: `${lineText(corners)}Z`,
      style: behind
        ? `fill:none;stroke:${color('ink')};stroke-dasharray:5 4`
        : `fill:${color('ink')};stroke:${color(current > 0 ? 'current-f' : 'ink')}`,
    })
  })
}

function arrow(parent, points, bend = 0) {
  const [a, b] = points,
    mid = [(a[0] + b[0]) / 2 + bend * (b[1] - a[1]), (a[1] + b[1]) / 2 - bend * (b[0] - a[0])]
  const dir = Math.atan2(b[1] - mid[1], b[0] - mid[0]),
    barb = k => `${num(b[0] - 20 * Math.cos(dir + k))} ${num(b[1] - 20 * Math.sin(dir + k))}`
  make(parent, 'path', {
    d: `M${a[0]} ${a[1]}Q${mid[0]} ${mid[1]} ${b[0]} ${b[1]}M${barb(0.5)}L${b[0]} ${b[1]}L${barb(-0.5)}`,
    fill: 'none',
    'stroke-width': 6,
    'stroke-linecap': 'round',
    'stroke-linejoin': 'round',
    style: `stroke:${color('ink')}`,
  })
}

function word(parent, text, x, y, size = 30, more = {}) {
  const t = make(parent, 'text', {
    x,
    y,
    'font-size': size,
    'text-anchor': 'middle',
    style: `fill:${color('ink')};font-family:var(--font, system-ui, sans-serif);font-weight:700`,
    ...more,
  })
  t.textContent = text
  return t
}

// On and off as the height of a line over time, a hand above each part. Times are to scale; where a rest is too long or too
// short to be drawn so, two strokes break the line.
const LINE = { from: 22, to: 778, low: 398, high: 318 }

function overTime(parent, look, data, big) {
  const c = data.timing,
    held = c.control === 'held',
    busy = c.up + c.on + c.down,
    rest = c.off >= 0.5 || held
  const width = LINE.to - LINE.from,
    real = held ? 1 / 3 : busy / (busy + c.off),
    share = rest ? clamp(real, 0.26, 0.5) : 1
  const begin = LINE.from + (width * (1 - share)) / 2,
    end = LINE.to - (width * (1 - share)) / 2
  const per = (end - begin) / Math.max(busy, 1e-6),
    ends = held ? [0.12, 0.12].map(f => f * (end - begin)) : [c.up * per, c.down * per]
  const points = [
    [LINE.from, LINE.low],
    [begin, LINE.low],
    [begin + ends[0], LINE.high],
    [end - ends[1], LINE.high],
    [end, LINE.low],
    [LINE.to, LINE.low],
  ]
  const d = points.map((p, i) => `${i ? 'L' : 'M'}${num(p[0])} ${LINE[p[1]] ?? p[1]}`).join('')
  make(parent, 'path', {
    d: `M${num(begin)} ${LINE.low}${d.slice(d.indexOf('L', 1))}Z`,
    style: `fill:${color('current-f')};fill-opacity:.2`,
  })
  make(parent, 'path', {
    d,
    fill: 'none',
    'stroke-width': 9,
    'stroke-linejoin': 'round',
    'stroke-linecap': 'round',
    style: `stroke:${color('current-f')}`,
  })
  const broken = rest && !held && Math.abs(share - real) > 1e-6
  if (broken)
    for (const x of [(LINE.from + begin) / 2, (end + LINE.to) / 2]) {
      make(parent, 'path', { d: `M${num(x - 9)} ${LINE.low + 16}l12 -32h10l-12 32z`, style: `fill:${color('surface')}` })
      make(parent, 'path', {
        d: `M${num(x - 9)} ${LINE.low + 16}l12 -32m10 0l-12 32`,
        'stroke-width': 3.5,
        fill: 'none',
        style: `stroke:${color('ink2')}`,
      })
    }
  const middle = (begin + end) / 2,
    sides = [(LINE.from + begin) / 2, (end + LINE.to) / 2]
  const parts = rest
    ? [
        ['rest', sides[0]],
        ['now', middle],
        ['rest', sides[1]],
      ]
    : [['now', middle]]
  const wide = Math.min(232, 1.9 * Math.min(middle - LINE.from, sides[0] * 1.2))
  for (const [which, x] of parts) {
    const left = clamp(x - wide / 2, 0, WIDE - wide)
    handIn(parent, { x: left, y: 6, w: wide, h: 286 }, [data.hands.rest, data.hands.now], look).to(data.hands[which])
  }
  const size = 38 * Math.sqrt(big),
    seconds = s => data.words.second.replace('{n}', Math.round(s) || '<1')
  parts.forEach(([which, x], i) => {
    const on = which === 'now',
      text = data.words[held ? (on ? 'press' : 'let_go') : on ? 'on' : 'off']
    word(parent, text, num(x), 452, size)
    if (!held && (on || i === 2))
      word(parent, seconds(on ? busy : c.off), num(x), 452 + size, 0.8 * size, {
        style: `fill:${color('ink2')};font-family:var(--font, system-ui, sans-serif)`,
      })
  })
}

// The arm from above and from below, in outline, for a pen.
function armToMark(parent, x, palm, mirror, text, size) {
  const g = make(parent, 'g', { transform: `translate(${x} 0) scale(${mirror} 1)` }),
    ink = color('ink')
  const arm = 'M-58 470C-62 380 -50 300 -36 236L36 236C50 300 62 380 58 470',
    hand = 'M-36 240C-40 210 -48 190 -46 150L44 146C48 190 40 210 36 240Z'
  const fingers = [
      [-37, 150, -50, 84],
      [-13, 144, -17, 46],
      [12, 142, 14, 34],
      [34, 150, 42, 58],
    ],
    thumb = [44, 214, 88, 148]
  // all in ink a little wider, then all in white: what is left is the outline of the whole
  for (const [color_, more] of [
    [ink, 5],
    [color('surface'), 0],
  ]) {
    make(g, 'path', { d: arm, fill: color_, stroke: color_, 'stroke-width': more, style: `fill:${color_};stroke:${color_}` })
    make(g, 'path', { d: hand, style: `fill:${color_};stroke:${color_}`, 'stroke-width': more, 'stroke-linejoin': 'round' })
    for (const [x1, y1, x2, y2] of [...fingers, thumb])
      make(g, 'line', { x1, y1, x2, y2, 'stroke-width': 21 + more, 'stroke-linecap': 'round', style: `stroke:${color_}` })
  }
  const thin = { fill: 'none', 'stroke-width': 2, 'stroke-linecap': 'round', style: `stroke:${color('ink2')}` }
  if (palm)
    make(g, 'path', { d: 'M36 176C12 168 -10 182 -38 176M40 160C20 188 8 206 10 230M-30 238C-8 244 12 244 30 238', ...thin })
  else for (const [, , x2, y2] of [...fingers, thumb]) make(g, 'ellipse', { cx: x2, cy: y2 - 1, rx: 5, ry: 6.5, ...thin })
  make(g, 'path', { d: 'M-58 470H58', 'stroke-dasharray': '6 6', ...thin })
  word(parent, text, x, 494, size)
}

// Draws one picture into `host`; returns what moves in it.
export function drawExplained(host, key, data, o = {}) {
  const pic = {}
  pic.big = o.words ?? 1
  const svg = make(host, 'svg', { viewBox: `0 0 ${WIDE} ${HIGH}`, preserveAspectRatio: 'xMidYMid meet' })
  Object.assign(svg.style, { display: 'block', width: '100%', height: '100%' })
  if (o.label) {
    svg.setAttribute('role', 'img')
    svg.setAttribute('aria-label', o.label)
  } else svg.setAttribute('aria-hidden', 'true')
  const g = make(svg, 'g'),
    hands = data.hands,
    look = { side: o.side, skin: o.skin, dark: o.dark }
  // a right arm is the mirror image: the hand that comes first still stands first
  const turn = box => (o.side === 'right' ? { ...box, x: WIDE - box.x - box.w } : box)
  const across = x => (o.side === 'right' ? WIDE - x : x)
  const withPads = { ...look, arm: true, pads: data.pads, around: data.around }
  pic.moves = []
  if (key === 'does') {
    whatItDoes(data, g, hands, look, o, turn, across, withPads, pic)
  } else if (key === 'pads') {
    padsOn(data, g, hands, withPads)
  } else if (key === 'feel') {
    howItFeels(data, g, hands, look, pic)
  } else if (key === 'when') {
    overTime(g, look, data, pic.big)
  } else if (key === 'mark') {
    svg.setAttribute('viewBox', '190 0 420 500')
    // seen from above a left arm has its thumb on the right
    const mirror = o.side === 'right' ? -1 : 1
    armToMark(g, 300, false, mirror, data.words.mark_back, 22)
    armToMark(g, 510, true, -mirror, data.words.mark_palm, 22)
  } else {
    holdAndLift(data, g, hands, look, o, turn, across)
  }
  return { svg, moves: pic.moves.filter(m => m.frames?.length) }
}

// Postures of a movement, so many as show how far it reaches.
function onTheWay(frames = []) {
  return frames.filter((_, i) => i % 4 === 0).map(f => f.angle)
}

function whatItDoes(data, g, hands, look, o, turn, across, withPads, pic) {
  const rest = handIn(g, turn({ x: 0, y: 130, w: 250, h: 250 }), [hands.rest], look)
  const now = handIn(g, turn({ x: 262, y: 30, w: 530, h: 380 }), [hands.rest, hands.now, ...onTheWay(data.frames?.now)], withPads)
  rest.to(hands.rest)
  now.to(hands.now, 0.5)
  arrow(
    g,
    [
      [across(190), 440],
      [across(330), 440],
    ],
    o.side === 'right' ? 0.22 : -0.22,
  )
  pic.moves = [{ hand: now, frames: data.frames?.now, end: [hands.now, 0.5] }]
}

function padsOn(data, g, hands, withPads) {
  const arm = handIn(g, { x: 20, y: 90, w: 760, h: 390 }, [hands.rest], withPads)
  arm.to(hands.rest)
  if (data.around !== 'none')
    for (const p of data.pads) {
      const s = (p.from_mm + p.to_mm) / 2,
        y = data.around === 'back' ? forearmWidth(s, 1) + 26 : data.around === 'palm' ? -forearmWidth(s, -1) - 14 : 20
      const [x, end] = arm.place([s - FOREARM_MM, y]).map(num),
        up = data.around === 'palm' ? 74 : -74
      arrow(g, [
        [x, num(end + up)],
        [x, end],
      ])
    }
}

function howItFeels(data, g, hands, look, pic) {
  const level = data.levels,
    all = [hands.rest, hands.now, hands.more, ...onTheWay(data.frames?.now), ...onTheWay(data.frames?.more)]
  for (const [i, which] of ['now', 'more'].entries()) {
    const hand = handIn(g, { x: 15 + 400 * i, y: 10, w: 370, h: 370 }, all, look)
    hand.to(hands[which], 0.5)
    pic.moves.push({ hand, frames: data.frames?.[which], end: [hands[which], 0.5] })
    const cx = 200 + 400 * i,
      w = 300 * level[which]
    make(g, 'rect', { x: cx - 150, y: 404, width: 300, height: 18, rx: 9, style: `fill:${color('line')}` })
    make(g, 'rect', {
      x: cx - 150,
      y: 404,
      width: num(Math.max(18, w)),
      height: 18,
      rx: 9,
      style: `fill:${color('current-f')}`,
    })
    word(g, data.words[which === 'now' ? 'this_much' : 'more'], cx, 466, 36 * Math.sqrt(pic.big))
  }
  make(g, 'path', { d: 'M400 20V470', 'stroke-width': 2, style: `stroke:${color('line')}` })
}

function holdAndLift(data, g, hands, look, o, turn, across) {
  const r = data.object.diameter_mm / 2,
    open = data.opens ? hands.now : hands.rest
  // the object lies before the mouth of the hand: beyond the middle of thumb tip and finger tip, seen from the palm
  const shape = handShape(poseOf(open, 0).angle),
    thumb = shape.thumb.chain.joints[3],
    palm = beside(shape.near, 1, 45, -10)
  const mouth = [(thumb[0] + shape.tip[0]) / 2, (thumb[1] + shape.tip[1]) / 2],
    far = Math.hypot(mouth[0] - palm[0], mouth[1] - palm[1]) || 1
  const centre = mouth.map((v, i) => v + ((v - palm[i]) / far) * (0.8 * r + 16))
  const thing = { name: data.object.name, diameter_mm: data.object.diameter_mm }
  const first = handIn(g, turn({ x: 10, y: 60, w: 350, h: 400 }), [open], {
    ...look,
    object: { ...thing, center_mm: centre },
  })
  first.to(open)
  const second = handIn(g, turn({ x: 450, y: 40, w: 330, h: 360 }), [hands.hold], {
    ...look,
    object: { ...thing, diameter_mm: data.object.held_mm, held: true },
  })
  second.to(hands.hold)
  const under = num(first.place(centre)[1] + r * first.scale + 2)
  arrow(
    g,
    [
      [across(372), num(under - 70)],
      [across(455), num(under - 130)],
    ],
    o.side === 'right' ? -0.25 : 0.25,
  )
  make(g, 'path', { d: `M${across(10)} ${under}H${across(400)}`, 'stroke-width': 3, style: `stroke:${color('edge')}` })
}

// Plays the movements of a picture in the model's own time; returns how to stop them.
export function playMoves(moves, done) {
  const all = moves.map(m => m.frames.map(f => ({ t_ms: f.t_ms, posture: poseOf(f.angle, f.current) })))
  const start = performance.now(),
    last = Math.max(...moves.map(m => m.frames[m.frames.length - 1].t_ms))
  let tick = 0
  const settle = () => {
    for (const m of moves) m.hand.to(...m.end)
  }
  const step = now => {
    const t = now - start
    moves.forEach((m, i) => {
      const p = postureAt(all[i], t)
      m.hand.to(p.angle, p.current)
    })
    if (t < last) tick = requestAnimationFrame(step)
    else {
      settle()
      done?.()
    }
  }
  tick = requestAnimationFrame(step)
  return () => {
    cancelAnimationFrame(tick)
    settle()
  }
}
