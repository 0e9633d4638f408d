// Shape of the hand: bones, skin, thumb, far fingers and tendons as points and curves. No page is touched here.
// Millimetres, y up, wrist at the origin, forearm along -x, a left arm from the thumb side; angles flexion positive.

import { FOREARM_MM } from '../given.js'
import { clamp, sample, spline, walk } from '../svg.js'
import { FINGERS, RAD, allJoints, beside, fingerBones, fingerChain, makeChain, onJoint, thumbBones, thumbChain } from './bones.js'

// Half-thickness of the skin beside each bone: [fraction of the free length, mm].
const DORSAL = [
  [
    [0, 40],
    [0.18, 41],
    [0.4, 36],
    [0.62, 27.5],
    [0.82, 20.5],
    [0.95, 18],
  ],
  [
    [0.2, 15],
    [0.5, 12.6],
    [0.82, 11.2],
  ],
  [
    [0.35, 8.6],
    [0.72, 7.9],
  ],
  [
    [0.35, 7.4],
    [0.7, 6.9],
  ],
  [
    [0.25, 6.3],
    [0.62, 5.9],
    [0.9, 4.3],
  ],
]
const PALMAR = [
  [
    [0, 46],
    [0.18, 47],
    [0.4, 41],
    [0.62, 32],
    [0.82, 23.5],
    [0.95, 20.5],
  ],
  [
    [0.1, 19],
    [0.38, 19],
    [0.7, 16.5],
    [0.92, 16],
  ],
  [
    [0.25, 10.2],
    [0.62, 9.3],
  ],
  [
    [0.3, 8.4],
    [0.65, 8],
  ],
  [
    [0.25, 7.4],
    [0.6, 7.2],
    [0.88, 4.9],
  ],
]
export const DORSAL_JOINT = [0, 17.5, 11.6, 8.7, 6.9]
export const PALMAR_JOINT = [0, 20, 13.2, 7.9, 6.8]
const FAR_DORSAL = [
  [
    [0.1, 10],
    [0.6, 10.6],
  ],
  DORSAL[2],
  DORSAL[3],
  DORSAL[4],
]
const FAR_PALMAR = [
  [
    [0.1, 9],
    [0.6, 12],
  ],
  PALMAR[2],
  PALMAR[3],
  PALMAR[4],
]
const FAR_DORSAL_JOINT = [0, 11.2, 8.7, 6.9]
const FAR_PALMAR_JOINT = [0, 12.2, 7.9, 6.8]
const THUMB_DORSAL = [
  [
    [0.42, 13.5],
    [0.8, 11.2],
  ],
  [
    [0.3, 10.2],
    [0.7, 9.4],
  ],
  [
    [0.25, 8.6],
    [0.62, 7.8],
    [0.88, 5.6],
  ],
]
const THUMB_PALMAR = [
  [],
  [
    [0.3, 11.8],
    [0.7, 10.6],
  ],
  [
    [0.25, 10.8],
    [0.58, 10.6],
    [0.86, 7.2],
  ],
]
const THUMB_DORSAL_JOINT = [0, 11.6, 9.4]
const THUMB_PALMAR_JOINT = [0, 12.2, 9.6]

// How stout a finger is beside the index; its skin stands off the bone by so much more or less.
export const GIRTH = { index: 1, middle: 1.02, ring: 0.96, little: 0.84 }
const STUMP_MM = 30
export const FLAT_MM = 20.5

export const TENDONS = ['FDS', 'FDP', 'EDC', 'central', 'terminal']
// Tendons: spans [bone, from mm, offset, to mm, offset] and the offset at the joint between two spans; null = bone's end.
const OPENER = {
  spans: [
    [0, 146, 18, null, 12.6],
    [1, null, 9.6, null, 8],
    [2, null, 7.4, 17, 6],
  ],
  joints: [12, 8.4],
}
const MIDDLE_SLIP = {
  spans: [
    [2, 13, 5.8, null, 4.8],
    [3, null, 4.8, 8, 4.2],
  ],
  joints: [5.2],
}
const SIDE_SLIP = {
  spans: [
    [2, 13, 4.4, null, 1.6],
    [3, null, 1.6, null, 3.2],
    [4, null, 3.6, 6, 3.2],
  ],
  joints: [1.4, 4],
}
const DEEP_CLOSER = {
  spans: [
    [0, 146, -15.5, null, -12],
    [1, null, -12, null, -8],
    [2, null, -7.4, null, -5.4],
    [3, null, -4.6, null, -4.4],
    [4, null, -4, 8, -3.7],
  ],
  joints: [-12, -8, -5, -4.2],
}
const OTHER_CLOSER = {
  spans: [
    [0, 146, -19.2, null, -15.6],
    [1, null, -15.2, null, -11.2],
    [2, null, -10, null, -7],
    [3, null, -6, 9, -5.2],
  ],
  joints: [-15.6, -10.8, -6.4],
}

// Three skin points at joint i: the skin rolls round on the outside of a bend and folds on the inside.
function jointSkin(chain, i, w, side) {
  const t = side * chain.bend[i]
  const limit = 0.46 * Math.min(chain.lengths[i - 1], chain.lengths[i])
  let b = (w >= 15 ? 0.7 : 0.48) * w,
    outer = w,
    middle = w
  if (t >= 0) {
    // Past 50 degrees the knuckle spreads over more skin: without this a strongly bent joint looks square.
    const round = w < 15 ? clamp((t - 0.85) / 1.1, 0, 1) : 0
    b += 0.42 * w * round
    outer = w * (1 - 0.03 * round)
    middle = w * (1 + (side > 0 ? 0.05 : 0.02) * Math.sin(Math.min(t, Math.PI / 2)) - 0.1 * round)
  } else {
    const a = -t,
      q = Math.sin(Math.min(a, Math.PI / 2))
    b += w * Math.tan(a / 2)
    outer = w * (1 + 0.05 * q)
    middle = w * (1 / Math.cos(a / 2) - (side > 0 ? 0.12 : 0.15) * q)
  }
  if (b > limit) b = limit
  return {
    reach: b,
    points: [
      beside(chain, i - 1, chain.lengths[i - 1] - b, side * outer),
      onJoint(chain, i, side * middle),
      beside(chain, i, b, side * outer),
    ],
  }
}

// All skin points of one side, from the first bone to before the tip.
function skinSide(chain, side, stations, jointWidths, girth) {
  const n = chain.lengths.length,
    points = [],
    joint = []
  for (let i = 1; i < n; i++) joint[i] = jointSkin(chain, i, jointWidths[i] * girth, side)
  for (let i = 0; i < n; i++) {
    const start = i > 0 ? joint[i].reach : 0
    const free = chain.lengths[i] - start - (i < n - 1 ? joint[i + 1].reach : 0)
    for (const [f, w] of stations[i]) points.push(beside(chain, i, start + f * free, side * w * girth))
    if (i < n - 1) points.push(...joint[i + 1].points)
  }
  return points
}

// How thick the skin of the forearm is s mm from its elbow end, on the back (side 1) or the palm side (-1).
export function forearmWidth(s, side) {
  const table = side > 0 ? DORSAL[0] : PALMAR[0],
    wrist = side > 0 ? 17.5 : 20
  const free = FOREARM_MM - 0.7 * wrist
  for (let k = 1; k < table.length; k++) {
    const a = table[k - 1],
      b = table[k]
    if (s <= b[0] * free) return a[1] + ((b[1] - a[1]) * (s - a[0] * free)) / ((b[0] - a[0]) * free)
  }
  const last = table[table.length - 1]
  return last[1] + (wrist - last[1]) * clamp((s - last[0] * free) / (FOREARM_MM - last[0] * free), 0, 1)
}

// The skin of a finger from a stump in the palm, or from part of the way along its first bone.
export function fingerShape(chain, r, bones, from) {
  const girth = GIRTH[FINGERS[r]],
    part = from > 0
  const start = part ? beside(chain, 2, from * chain.lengths[2], 0) : beside(chain, 1, chain.lengths[1] - STUMP_MM, 0)
  const first = part ? [(1 - from) * chain.lengths[2]] : [STUMP_MM, chain.lengths[2]]
  const own = makeChain(start, [...first, chain.lengths[3], chain.lengths[4]], chain.dirs.slice(part ? 2 : 1), 1),
    skip = part ? 1 : 0
  const back = skinSide(
    own,
    1,
    part
      ? [
          [
            [0.1, 8.4],
            [0.6, 7.9],
          ],
          ...FAR_DORSAL.slice(2),
        ]
      : FAR_DORSAL,
    FAR_DORSAL_JOINT.slice(skip),
    girth,
  )
  const front = skinSide(
    own,
    -1,
    part
      ? [
          [
            [0.1, 10],
            [0.6, 9.4],
          ],
          ...FAR_PALMAR.slice(2),
        ]
      : FAR_PALMAR,
    FAR_PALMAR_JOINT.slice(skip),
    girth,
  )
  const last = own.lengths.length - 1,
    tip = beside(own, last, own.lengths[last] + 1.8 * girth, -0.7)
  const z = bones.points.reduce((sum, p) => sum + p[2], 0) / 4
  return { finger: FINGERS[r], chain: own, whole: chain, girth, z, curve: spline([...back, tip, ...front.reverse()]) }
}

function thumbShape(near, thumb, palm, angle, hollow) {
  // The ball of the thumb grows out of the palm's own outline.
  const flexed = clamp((angle.wrist * RAD) / 0.6, 0, 1)
  const line = sample(spline(palm.slice(2, 14).reverse()), 6)
  const free = beside(near, 1, 8, -19),
    fold = palm[7]
  const ref = [free[0] + (fold[0] - free[0]) * flexed, free[1] + (fold[1] - free[1]) * flexed]
  // The nearest place on the line, between its samples too: a jump from sample to sample would shake the thumb.
  let best = 0,
    along = 0,
    least = Infinity
  for (let i = 0; i < line.length - 1; i++) {
    const a = line[i],
      dx = line[i + 1][0] - a[0],
      dy = line[i + 1][1] - a[1]
    const f = clamp(((ref[0] - a[0]) * dx + (ref[1] - a[1]) * dy) / (dx * dx + dy * dy || 1), 0, 1)
    const d = Math.hypot(a[0] + f * dx - ref[0], a[1] + f * dy - ref[1])
    if (d < least) {
      least = d
      best = i
      along = f
    }
  }
  const first = 9 - 6 * clamp((-angle.wrist - 15) / 30, 0, 1),
    root = []
  for (const extra of [12, 8, 4, 0]) root.push(walk(line, best, along, (first + extra) * (1 - flexed)))
  const back = skinSide(thumb, 1, THUMB_DORSAL, THUMB_DORSAL_JOINT, 1)
  const front = skinSide(thumb, -1, THUMB_PALMAR, THUMB_PALMAR_JOINT, 1)
  const tip = beside(thumb, 2, thumb.lengths[2] + 1.5, -1.2),
    a = front[0]
  const b = beside(near, 1, 60 - 4 * hollow, -16.3 + 2 * hollow)
  const k = Math.min(30, 0.5 * Math.hypot(a[0] - b[0], a[1] - b[1]) + 3)
  const curve = spline([...root, ...back, tip, ...front.slice().reverse()])
  curve.push(
    a[0] - k * thumb.cos[0],
    a[1] - k * thumb.sin[0],
    b[0] - 0.9 * k * near.cos[1],
    b[1] - 0.9 * k * near.sin[1],
    b[0],
    b[1],
  )
  // The part that stands free of the palm, to hide what lies behind it.
  const outer = spline([...back.slice(1), tip, ...front.slice().reverse()])
  return { chain: thumb, curve, inside: beside(near, 1, 30, 2), back, front, free: outer, web: [a, b] }
}

// A tendon as a curve: straight beside the bones, bent round the joints, cutting the corner on the inside of a bend.
function tendonCurve(chain, tendon) {
  const points = []
  let cut = 0
  tendon.spans.forEach(([bone, from, w0, to, w1], i) => {
    const offset = i < tendon.joints.length ? tendon.joints[i] : 0
    const t = i < tendon.joints.length ? chain.bend[bone + 1] * Math.sign(offset) : 0
    const fold = t < 0 ? Math.abs(offset) * Math.tan(-t / 2) : 0
    const room = 0.45 * chain.lengths[bone]
    const s0 = from ?? cut
    cut = Math.min(0.6 * Math.abs(offset) + fold, 0.45 * Math.min(chain.lengths[bone], chain.lengths[bone + 1] ?? Infinity))
    const s1 = to ?? chain.lengths[bone] - Math.min(cut, room)
    points.push(beside(chain, bone, s0, w0), beside(chain, bone, Math.max(s1, s0 + 0.5), w1))
    if (i < tendon.joints.length) {
      points.push(onJoint(chain, bone + 1, t < 0 ? offset * (1 / Math.cos(t / 2) + 0.1 * Math.sin(-t)) : offset))
    }
  })
  return spline(points)
}

// A belly of muscle along the forearm: a lens between two distances from the elbow end.
export function bellyPoints(side, from, to, middle, height) {
  const top = [],
    low = [],
    n = 14
  for (let i = 0; i <= n; i++) {
    const f = i / n,
      s = from + f * (to - from),
      w = forearmWidth(s, side)
    const h = height * w * Math.sin(Math.PI * Math.pow(f, 0.9))
    top.push([s - FOREARM_MM, side * (middle * w + h)])
    low.push([s - FOREARM_MM, side * (middle * w - h)])
  }
  return [...top, ...low.reverse()]
}

// Nearest points of the thumb's last pad and the near finger's last two phalanges, in this picture. Only a place for the
// line when no points were given: the number shown is always the model's.
export function padGap(shape) {
  let best = [Infinity, null, null]
  const finger = shape.palmSkin.slice(-8),
    thumb = shape.thumb.front.slice(-3)
  for (const a of thumb)
    for (const b of finger) {
      const d = Math.hypot(a[0] - b[0], a[1] - b[1])
      if (d < best[0]) best = [d, a, b]
    }
  return { mm: best[0], points: [best[1], best[2]] }
}

function tendonsOf(chain) {
  return {
    EDC: tendonCurve(chain, OPENER),
    central: tendonCurve(chain, MIDDLE_SLIP),
    terminal: tendonCurve(chain, SIDE_SLIP),
    FDP: tendonCurve(chain, DEEP_CLOSER),
    FDS: tendonCurve(chain, OTHER_CLOSER),
  }
}

// Everything of one posture. `far` holds the fingers behind the index, the one furthest from the viewer first.
// `lies` -1 or 1: palm side or back of the forearm lies on a table and is flat there.
export function handShape(given, lit, lies) {
  const angle = allJoints(given),
    bones = FINGERS.map((_, r) => fingerBones(angle, r)),
    thumbPoints = thumbBones(angle)
  const chains = bones.map((b, r) => fingerChain(angle, r, b)),
    near = chains[0],
    hollow = clamp(angle.MCP / 90, 0, 1.1)
  const stations = PALMAR.slice()
  stations[1] = [
    [0.1, 19],
    [0.38, 19 - 2 * hollow],
    [0.7, 16.5 - 2 * hollow],
    [0.92, 16],
  ]
  const flat = rows => [rows[0].map(([f, w]) => [f, Math.min(w, FLAT_MM)]), ...rows.slice(1)]
  const back = skinSide(near, 1, lies > 0 ? flat(DORSAL) : DORSAL, DORSAL_JOINT, 1)
  const palm = skinSide(near, -1, lies < 0 ? flat(stations) : stations, PALMAR_JOINT, 1)
  const tip = beside(near, 4, near.lengths[4] + 1.8, -0.7)
  const body = spline([...back, tip, ...palm.slice().reverse()])
  const thumb = thumbShape(near, thumbChain(near, thumbPoints), palm, angle, hollow)
  // How far the thumb's last bone lies behind the index's last two [mm].
  const behind = (bones[0].points[1][2] + bones[0].points[3][2] - thumbPoints[2][2] - thumbPoints[3][2]) / 2
  return {
    angle,
    near,
    middle: chains[1],
    body,
    thumb,
    palmSkin: palm,
    backSkin: back,
    tip,
    bones,
    thumbPoints,
    behind,
    far: [3, 2, 1].map(r => fingerShape(chains[r], r, bones[r], 0)).sort((a, b) => a.z - b.z),
    over: behind > 0 ? fingerShape(near, 0, bones[0], 0.3) : null,
    tendons: tendonsOf(chains[Math.max(0, FINGERS.indexOf(lit))]),
  }
}
