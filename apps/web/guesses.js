// The lines that learners draw before they see the model's: by key, as long as the page lives or as it keeps them.

export const drawn = new Map()
let keepLines = null

export const lines = {
  // Takes up lines of before, and tells of every new one.
  keep(before, save) {
    drawn.clear()
    for (const [k, v] of Object.entries(before ?? {})) drawn.set(k, v)
    keepLines = save
  },
}

export const told = () => keepLines?.(Object.fromEntries(drawn))

export const GRID = 60

export function key(view) {
  const name = view.o.large || view.o.small ? null : view.o.guess === undefined ? (view.P.guess ?? null) : view.o.guess
  return name === null ? null : `${name}|${view.P.x.name}|${view.P.y.name}`
}

export function guessOf(view) {
  return key(view) ? (drawn.get(key(view)) ?? null) : null
}
