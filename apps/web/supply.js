// Where a lesson and its benches come from, and where one goes afterwards: this server. A lesson that was carried away has
// `carried.js` in the place of this.

import { askBench, exploreLink } from './dom.js'

export const HOME = '/teach'
export const BENCH_WORDS = 'Yours to try: move one thing at a time.'

// A compiled lesson. What is wrong with one that cannot be worked out comes as `wrong` of the error.
export async function lessonOf(slug) {
  const response = await fetch(`/lesson/${encodeURIComponent(slug)}.json`)
  if (!response.ok) {
    const words = await response.json().catch(() => ({}))
    throw Object.assign(new Error(String(response.status)), { wrong: words.lesson ? words.text : '' })
  }
  return response.json()
}

export const benchOf = body => askBench(body)
export const benchLink = bench => exploreLink(bench)
