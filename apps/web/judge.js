// A text of one's own, judged by what it must hold and how hard it reads; sense and kindness it cannot judge.

import { grade, words } from './grade.js'

// What is said of a text: what is missing, and its grade.
export function judged(text, { needs = [], grade: most = null }) {
  const said = text.toLowerCase(),
    told = []
  if (!words(text).length) return { passes: false, told: ['Write a few words first.'] }
  const missing = needs.filter(group => !group.some(word => said.includes(word.toLowerCase())))
  for (const group of missing)
    told.push(
      `Nothing on ${group
        .slice(0, 3)
        .map(word => `\u201c${word.trim()}\u201d`)
        .join(' or ')} yet.`,
    )
  const at = grade(text)
  if (most !== null)
    told.push(
      at <= most
        ? `Grade ${Math.max(0, Math.round(at))}: easy enough.`
        : `Grade ${Math.round(at)}: shorter words or shorter sentences, down to ${most}.`,
    )
  return { passes: !missing.length && (most === null || at <= most), told }
}
