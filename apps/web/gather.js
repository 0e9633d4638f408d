// Before the lesson: people gather, and one phone is tried first.

import { el } from './dom.js'

export function gatherParts(state, reachable) {
  const { joined = 0 } = state.counts ?? {},
    reached = state.reached
  const tried = !reachable
    ? ['no', 'No phone can get here yet: see beside the room\u2019s code what to do.']
    : reached
      ? ['yes', 'A phone has reached the room. The others will too.']
      : joined
        ? ['wait', 'Somebody joined from this machine itself. No phone has got here yet.']
        : ['wait', 'Point the camera of one phone at the code. This turns green when it gets here.']
  return [
    el('h2', { class: 'big', tabindex: '-1' }, 'People gather'),
    el('p', { class: 'lead' }, 'The wall shows the code large. The lesson\u2019s clock starts when you begin.'),
    el(
      'section',
      { class: `tried ${tried[0]}`, 'aria-live': 'polite' },
      el('h3', {}, reached ? '\u2713 One phone tried' : 'Try one phone first'),
      el('p', {}, tried[1]),
    ),
    reached || !reachable
      ? null
      : el(
          'details',
          {},
          el('summary', {}, 'It does not get here?'),
          el(
            'ul',
            { class: 'md' },
            [
              'Is the phone in the same Wi-Fi as this machine? Its mobile data may have to be off.',
              'Choose another address beside the code: a machine often has several.',
              'Guest networks often keep devices apart. A hotspot of this machine or of a phone does not.',
              'A firewall on this machine may ask whether others may connect: allow it for this network.',
            ].map(text => el('li', {}, text)),
          ),
        ),
  ]
}
