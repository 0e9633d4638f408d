// Bones of the hand in space and as seen: all joints of a state, fingers and thumb as chains that skin and tendons lie along.

import { FOREARM_MM, SPACE } from '../given.js'
import { clamp } from '../svg.js'

export const RAD = Math.PI / 180
// Bones in space are SPACE (see given.py), in the hand's own frame: x along the third metacarpal, y to the back, z to the thumb.
export const FINGERS = ['index', 'middle', 'ring', 'little']
export const JOINTS = [
  'wrist',
  'MCP',
  'PIP',
  'DIP',
  'CMC',
  'THUMB_MCP',
  'IP',
  'CMC_RADIAL',
  ...['index', 'ring', 'little'].flatMap(f => ['MCP', 'PIP', 'DIP'].map(j => `${f}.${j}`)),
]

// Where a state holds one finger only, the others follow it with small differences, so that four fingers are seen; a thumb
// without its turn to the side lies in the picture's plane.
const FOLLOWS = { index: [0, 0], ring: [4, 3], little: [9, 6] }

// A chain of bones. `flip` -1 puts its back on the other side (the thumb).
export function makeChain(origin, lengths, dirs, flip) {
  const joints = [origin],
    cos = [],
    sin = [],
    bend = [0]
  for (let i = 0; i < lengths.length; i++) {
    cos.push(Math.cos(dirs[i]))
    sin.push(Math.sin(dirs[i]))
    const j = joints[i]
    joints.push([j[0] + lengths[i] * cos[i], j[1] + lengths[i] * sin[i]])
    if (i > 0) bend.push(clamp((dirs[i - 1] - dirs[i]) * flip, -2.3, 2.3))
  }
  return { joints, lengths, dirs, cos, sin, bend, flip }
}

// The point s mm along bone i and w mm to its back.
export function beside(chain, i, s, w) {
  const j = chain.joints[i],
    c = chain.cos[i],
    k = chain.sin[i],
    f = w * chain.flip
  return [j[0] + s * c - f * k, j[1] + s * k + f * c]
}

// The point on the line that halves the angle at joint i, w mm to the back.
export function onJoint(chain, i, w) {
  const x = -(chain.sin[i - 1] + chain.sin[i]),
    y = chain.cos[i - 1] + chain.cos[i]
  const f = (w * chain.flip) / (Math.hypot(x, y) || 1),
    j = chain.joints[i]
  return [j[0] + x * f, j[1] + y * f]
}

const known = v => Number.isFinite(v)

// All joints of a state as numbers: its own, else those of `base`, else what a hand with one finger is given.
export function allJoints(given, base) {
  const out = {}
  for (const j of ['wrist', 'MCP', 'PIP', 'DIP', 'CMC', 'THUMB_MCP', 'IP'])
    out[j] = known(given[j]) ? given[j] : base ? base[j] : j === 'CMC' ? 35 : 0
  out.CMC_RADIAL = known(given.CMC_RADIAL) ? given.CMC_RADIAL : base && !known(given.CMC) ? base.CMC_RADIAL : 0
  // A straight or fully bent hand has its fingers side by side.
  const part = clamp(out.PIP / 30, 0, 1) * clamp((112 - out.PIP) / 25, 0, 1)
  for (const f in FOLLOWS) {
    const [mcp, pip] = FOLLOWS[f],
      made = { MCP: out.MCP + mcp, PIP: out.PIP + pip * part, DIP: out.DIP + 0.5 * pip * part }
    for (const j in made) {
      const key = `${f}.${j}`
      out[key] = known(given[key]) ? given[key] : base && !known(given[j]) ? base[key] : made[j]
    }
  }
  return out
}

const jointOf = (angle, r, j) => angle[r === 1 ? j : `${FINGERS[r]}.${j}`]

// Joints and tip of a finger in the hand's frame, and each bone's direction as seen from the thumb's side.
export function fingerBones(angle, r) {
  const [c, s] = SPACE.roll[r],
    points = [SPACE.head[r]],
    dirs = [],
    seen = []
  let t = 0
  ;['MCP', 'PIP', 'DIP'].forEach((j, i) => {
    t += jointOf(angle, r, j) * RAD
    const p = points[i],
      L = SPACE.length[r][i],
      ct = Math.cos(t),
      st = Math.sin(t),
      d = Math.atan2(c * st, ct)
    points.push([p[0] + L * ct, p[1] - L * c * st, p[2] + L * s * st])
    // Past half a turn the direction goes on: a finger that is rolled in is no finger bent backwards.
    dirs.push(d + 2 * Math.PI * Math.round((t - d) / (2 * Math.PI)))
    seen.push(L * Math.hypot(ct, c * st))
  })
  return { points, dirs, seen }
}

// Joints and tip of the thumb: the metacarpal by its two abductions, the rest in the plane of it and a point in the palm.
export function thumbBones(angle) {
  const b = angle.CMC * RAD,
    g = angle.CMC_RADIAL * RAD,
    aim = SPACE.aim
  const d = [Math.cos(b) * Math.cos(g), -Math.sin(b), Math.cos(b) * Math.sin(g)]
  const ahead = aim[0] * d[0] + aim[1] * d[1] + aim[2] * d[2]
  const e = aim.map((v, i) => v - ahead * d[i]),
    size = Math.hypot(...e) || 1,
    points = [SPACE.base]
  let t = 0
  for (let i = 0; i < 3; i++) {
    if (i > 0) t += angle[i === 1 ? 'THUMB_MCP' : 'IP'] * RAD
    const p = points[i],
      L = SPACE.thumb[i],
      c = L * Math.cos(t),
      s = (L * Math.sin(t)) / size
    points.push(p.map((v, k) => v + c * d[k] + s * e[k]))
  }
  return points
}

// Forearm, palm and one finger as a chain, seen from the thumb's side.
export function fingerChain(angle, r, bones) {
  const a1 = -angle.wrist * RAD,
    [hx, hy] = SPACE.head[r]
  return makeChain(
    [-FOREARM_MM, 0],
    [FOREARM_MM, Math.hypot(hx, hy), ...bones.seen],
    [0, a1 + Math.atan2(hy, hx), ...bones.dirs.map(d => a1 - d)],
    1,
  )
}

export function thumbChain(near, points) {
  // A bone that points at the viewer keeps some length, for skin has to stand on it.
  const dirs = [],
    lengths = []
  for (let i = 0; i < 3; i++) {
    const x = points[i + 1][0] - points[i][0],
      y = points[i + 1][1] - points[i][1]
    dirs.push(near.dirs[1] + Math.atan2(y, x))
    lengths.push(Math.max(Math.hypot(x, y), 0.4 * SPACE.thumb[i]))
  }
  for (let i = 1; i < 3; i++) dirs[i] += 2 * Math.PI * Math.round((dirs[i - 1] - dirs[i]) / (2 * Math.PI))
  return makeChain(beside(near, 1, SPACE.base[0], SPACE.base[1]), lengths, dirs, -1)
}
