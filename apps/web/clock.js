// The room's clock: what each place has used, kept by the server, so that every device shows the same and a pause costs nothing.

let ahead = 0 // how far the server's clock is ahead of this one, in seconds

// `message`: a state as it came.
export function setClock(message) {
  if (Number.isFinite(message?.now)) ahead = message.now - Date.now() / 1000
}

// Seconds used: in the whole lesson, in the present step, in its present phase.
export function used(state) {
  const { spent = {}, since = null } = state.clock ?? {}
  const running = since === null ? 0 : Math.max(0, Date.now() / 1000 + ahead - since)
  const all = Object.entries(spent),
    sum = keep => all.reduce((s, [place, t]) => s + (keep(place) ? t : 0), running)
  return {
    lesson: sum(() => true),
    step: sum(place => place.startsWith(`${state.step} `)),
    phase: sum(place => place === `${state.step} ${state.phase}`),
    running: since !== null,
  }
}

export const TALK_S = 120

export const mmss = s => {
  const whole = Math.floor(Math.abs(s))
  return `${s < 0 && whole ? '\u2212' : ''}${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`
}
