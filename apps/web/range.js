// Fills the track of a range up to its handle; `empty` leaves it bare.
export function fillTrack(input, empty = false) {
  const low = Number(input.min),
    span = Number(input.max) - low
  input.style.setProperty('--p', empty || !(span > 0) ? '0%' : `${(100 * (Number(input.value) - low)) / span}%`)
}
