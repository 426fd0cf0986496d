// The words of the voice. In another language it is another file, named here and
// in index.html.
'use strict'

const words = {
  lang: 'en-GB',
  position: n => `Position ${n}.`, // of the wheel; what has a name of its own is called that
  verdict: { 'inside': 'Inside.', 'outside': 'Outside.', 'too close to call': 'Not sure.' },
  plain: { 'too close to call': 'not sure', 'captured': 'stored', 'round done': 'all stored' }, // in writing
  word: { 'yes': 'Yes.', 'no': 'Failed.' }, // in place of a value
  phase: { 'paused': '', 'gauge lost': 'Gauge lost.', 'on hold': 'On hold.' }, // to look up for; a pause says itself
  back: 'Gauge is back.',
  onward: 'Going on.',
  look: 'Look.',
  // What is written and not said, or said in another way: what stands in brackets,
  // and that a value that was just said is stored.
  spoken: [
    [/ ?\([^)]*\)/g, ''], [/\bStored\. ?/g, ''], [/°/g, ' degrees'], [/N·m/g, 'newton metres'], [/lbf·ft/g, 'pound feet'],
    [/kPa/g, 'kilopascal'], [/ mm\b/g, ' millimetres'], [/±/g, 'plus or minus '], [/·/g, ','], [/LEFT-HAND/g, 'left hand'], [/\s+/g, ' '],
  ],
}
