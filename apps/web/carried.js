// A lesson that was carried away: all of it lies in this file, the bench pictures too, one for every step of every slider.

import { unpacked } from './packed.js'

const CURRENT = 'channel.0.pulse.amplitude_ma'
const held = JSON.parse(document.getElementById('carried').textContent)
const lesson = unpacked(held.lesson)

export const HOME = held.home
export const BENCH_WORDS =
  'Yours to try. In this file one setting moves at a time, beside the current: moving another puts the first back.'

export const lessonOf = async () => lesson

// Which of a setting's pictures belongs to a value.
export function pictureAt(setting, value) {
  if (setting.choices) return setting.choices.findIndex(([choice]) => choice === value)
  const steps = Math.floor((setting.high - setting.low) / setting.step + 1e-9)
  return value === null ? steps + 1 : Math.round((value - setting.low) / setting.step)
}

// What the hand of a step does with these settings.
export async function benchOf({ step, settings }) {
  const bench = lesson.steps[step].bench,
    own = held.benches[step]
  const moved = bench.settings.filter(s => s.path !== CURRENT && settings[s.path] !== undefined && settings[s.path] !== s.value)
  if (!moved.length) return bench.live
  if (moved.length > 1) throw new Error('In this file one setting moves at a time.')
  const at = own[moved[0].path]?.[pictureAt(moved[0], settings[moved[0].path])]
  if (at === undefined) throw new Error('This file has no picture of that.')
  return unpacked(held.pictures[at])
}

export const benchLink = () => null
globalThis.graspwaveCarried = { lesson, benchOf, pictureAt }
