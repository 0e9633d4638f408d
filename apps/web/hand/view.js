// The hand of a page without components: shown in one posture, eased to another, or played from samples with a pause.

import { element } from '../element.js'
import { NEUTRAL_PADS } from '../given.js'
import { handPlayer, posture, postureAt, postures } from './player.js'
import { buildScene } from './build.js'
import { drawScene, paintSkin } from './scene.js'

const root = document.documentElement
const WHOLE_PX = 520
const lessMotion = matchMedia('(prefers-reduced-motion: reduce)')

// A person's choice on the page goes before the system's.
export function motionLess() {
  return root.dataset.motion ? root.dataset.motion === 'less' : lessMotion.matches
}

// A box that is filled by one hand; `follow` is called when its size, the theme, the tone or the side changes.
export function handPlace(parent, { resized, relooked }) {
  const box = element('div')
  Object.assign(box.style, { width: '100%', height: '100%', overflow: 'hidden' })
  parent.append(box)
  const watcher = new MutationObserver(relooked),
    sizer = new ResizeObserver(resized)
  watcher.observe(root, { attributes: true, attributeFilter: ['data-theme', 'data-skin', 'data-side', 'data-show'] })
  sizer.observe(box)
  return {
    box,
    destroy() {
      watcher.disconnect()
      sizer.disconnect()
      box.remove()
    },
  }
}

// Draws into `host`, which has a size; `small` leaves the words of the opening out, `whole` keeps the pads in the frame.
export function handView(host, { small = false, whole = false } = {}) {
  const place = handPlace(host, { resized: () => player.draw(), relooked: () => repaint() }),
    box = place.box
  const nodes = buildScene(box)
  if (small) {
    // seen small, a hand needs a stronger line and nothing round it
    for (const part of [nodes.table, nodes.tableLine]) part.setAttribute('display', 'none')
    for (const part of [nodes.bodyLine, nodes.thumbLine, ...nodes.far.map(f => f.line)]) part.setAttribute('stroke-width', 2.6)
  }
  let held = {},
    alive = true

  // the whole scene, pads and all, is drawn from some width on; seen smaller it is the same drawing, smaller
  const sized = (width, height) => {
    const k = whole ? Math.max(1, WHOLE_PX / width) : 1
    return { width: width * k, height: height * k }
  }
  const complete = state => posture(small ? { ...state, opening: null } : state, null)
  const ready = frames => postures(small ? frames.map(f => ({ ...f, opening: null })) : frames, player.shown)
  const look = () => ({
    pads: held.pads?.length === 2 ? held.pads : NEUTRAL_PADS,
    object: held.object ?? null,
    held: Boolean(held.wrist_held),
    side: root.dataset.side ?? 'left',
    ...sized(box.clientWidth || 320, box.clientHeight || 213),
  })
  const player = handPlayer({
    still: motionLess,
    outline: nodes.before,
    paint(shown, moving) {
      if (!alive) return
      drawScene(nodes, shown, look(), moving)
      if (held.pads && !held.pads.length) {
        for (const part of [...nodes.pads.flatMap(Object.values), ...nodes.glow]) part.setAttribute('visibility', 'hidden')
      }
    },
  })
  const skin = () => paintSkin(nodes, root.dataset.skin ?? 'clay', root.dataset.theme === 'dark')
  const repaint = () => {
    skin()
    player.draw()
  }

  return {
    svg: nodes.svg,
    say(label) {
      nodes.svg.setAttribute('aria-label', label)
    },
    // `how`: "at once" follows a person's hand, "ease" is the change from one posture to another.
    show(state, how = 'at once') {
      held = { ...held, ...state }
      const to = complete(state)
      if (how === 'ease') player.ease(to)
      else {
        skin()
        player.show(to)
      }
    },
    // Plays from `from_ms`; `told(t_ms, ended)` after every picture.
    play(frames, told, from_ms = 0) {
      player.play(ready(frames), { offset: from_ms, told })
    },
    // One moment of the samples, and a jump to one.
    hold(frames, t_ms) {
      player.show(postureAt(ready(frames), t_ms))
    },
    step(frames, t_ms) {
      const f = ready(frames)
      player.jump((f.find(x => x.t_ms >= t_ms) ?? f[f.length - 1]).posture)
    },
    stop: player.stop,
    destroy() {
      alive = false
      player.destroy()
      place.destroy()
    },
  }
}
