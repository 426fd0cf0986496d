// The page shows what the laptop says, says what changed, and asks what a thumb
// presses. It judges nothing: texts, figures and verdicts come ready in each view.
'use strict'

const $ = id => document.getElementById(id)
const page = sessionStorage.page ||= Array.from(crypto.getRandomValues(new Uint8Array(12)), b => b.toString(16).padStart(2, '0')).join('')
let view // the last one; undefined before the first

// ---- the line to the laptop

// Silence of this many ms is told: the laptop says something every two seconds.
const staleAfter = 5000
let events
let heard = 0 // when the laptop was last heard
let over = false // the program has ended: there is nothing to come back to

function connect() {
  if (events) events.close()
  events = new EventSource('views?page=' + page)
  events.addEventListener('view', e => { listen(); show(JSON.parse(e.data)) })
  events.addEventListener('beat', listen)
  events.addEventListener('full', () => { notice('Eight phones watch already.'); events.close() })
  events.addEventListener('end', () => {
    over = true
    events.close()
    notice('The program on the laptop has ended. What was stored is on record.')
    draw([])
    stale(true)
  })
}

function listen() {
  heard = Date.now()
  notice('')
  stale(false)
}

function stale(is) { document.body.classList.toggle('stale', is) }

function notice(text) {
  $('notice').textContent = text
  $('notice').hidden = !text
}

function watch() {
  const silent = Date.now() - heard
  if (over || silent < staleAfter) return
  stale(true)
  if (events.readyState !== EventSource.CLOSED || heard) notice('OLD: nothing heard from the laptop for ' + Math.round(silent / 1000) + ' s. Trying again.')
  if (silent % 10000 < 1000) connect() // a phone that slept has a line that is dead and does not know it
}

// ---- what is shown

function show(v) {
  const before = view
  view = v
  for (const [id, text] of Object.entries({
    job: v.job, step: v.step, name: v.name, number: v.big, unit: v.unit, doubt: v.doubt, state: words.plain[v.state] || v.state, progress: v.progress,
    place: v.place, alert: v.alert, action: v.action, caution: v.caution && 'CAUTION: ' + v.caution, verdict: words.plain[v.verdict] || v.verdict,
  })) write(id, text)
  $('action').classList.toggle('long', v.action.length > 90)
  $('number').style.setProperty('--chars', Math.max(v.big.length, 5))
  $('big').hidden = !v.big
  $('state').className = kinds[v.state] || ''
  $('todo').className = v.alert ? 'bad' : ''
  $('verdict').className = v.verdict === 'inside' ? 'good' : 'bad'
  const [rocked, wanted] = v.rocks
  write('rocks', wanted > 1 && wanted <= 12 ? '●'.repeat(Math.min(rocked, wanted)) + '○'.repeat(Math.max(wanted - rocked, 0)) : '')
  if (changed('facts', v.facts)) $('facts').replaceChildren(...v.facts.map(f => element('li', f)))
  if (changed('ring', v.ring)) drawRing(v.ring)
  const mine = v.control === 'mine'
  const buttons = mine ? buttonsOf(v) : []
  if (changed('buttons', [v.mark, buttons])) draw(buttons)
  $('take').hidden = v.control !== 'other'
  $('typed').hidden = !mine || !v.typed
  const place = v.phase === 'on hold' ? $('hands') : $('foot') // a reason is all that can be given there: within reach
  if ($('typed').parentNode !== place) place.prepend($('typed'))
  $('value').placeholder = v.typed
  $('value').inputMode = v.typed.startsWith('a ') ? 'text' : 'decimal'
  $('camera').hidden = !mine
  const [text, sound] = say(before, v)
  if (text) speak(text, sound)
}

// How the words of a state are drawn that are not plain.
const kinds = {
  'captured': 'good', 'round done': 'good', 'inside': 'good', 'gauge lost': 'bad', 'outside': 'bad', 'look': 'bad',
  'paused': 'wait', 'waiting': 'wait', 'on hold': 'wait', 'too close to call': 'wait',
}

function write(id, text) { if ($(id).textContent !== text) $(id).textContent = text }

const drawn = {} // what was last drawn, as text
function changed(what, data) {
  const text = JSON.stringify(data)
  if (drawn[what] === text) return false
  drawn[what] = text
  return true
}

function element(name, text) {
  const e = document.createElement(name)
  e.textContent = text
  return e
}

function svg(name, attributes, text = '') {
  const e = document.createElementNS('http://www.w3.org/2000/svg', name)
  for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v)
  e.textContent = text
  return e
}

// A verdict has a shape, the same as on the terminal; a ring is not measured.
const shapes = {
  'inside': { class: 'good', d: 'M-9 0a9 9 0 1 0 18 0a9 9 0 1 0-18 0z' },
  'too close to call': { class: 'wait', d: 'M0-11L12 9H-12z' },
  'outside': { class: 'bad', d: 'M0-13L13 0L0 13L-13 0z' },
  '': { class: '', d: 'M-8-8h16v16h-16z' },
}

function drawRing(spots) {
  const parts = [svg('circle', { class: 'wheel', r: 80 })]
  const many = spots.length > 12
  for (const s of spots) {
    const a = s.deg * Math.PI / 180, x = 80 * Math.sin(a), y = -80 * Math.cos(a)
    const k = many ? .5 : 1
    const g = svg('g', { transform: `translate(${x.toFixed(1)} ${y.toFixed(1)}) scale(${k})` })
    if (!s.value) g.append(svg('circle', { class: 'open', r: 9 }))
    else {
      const shape = shapes[s.verdict] || shapes['']
      g.setAttribute('class', shape.class)
      g.append(svg('path', { class: 'told', d: shape.d }))
    }
    if (s.current) g.append(svg('circle', { class: 'here', r: 17 }))
    parts.push(g)
    if (!many || s.current) parts.push(svg('text', {
      x: 104 * Math.sin(a), y: -108 * Math.cos(a), class: Math.abs(Math.sin(a)) < .1 ? '' : Math.sin(a) > 0 ? 'right' : 'left',
    }, s.value || s.name))
  }
  const here = spots.find(s => s.current), done = spots.filter(s => s.value).length
  parts.push(svg('text', { id: 'middle' }, here ? here.name + '/' + spots.length : done + '/' + spots.length))
  $('ring').replaceChildren(...parts)
  $('ring').setAttribute('aria-label', spots.map(s => s.name + ': ' + (s.value || 'not measured') + (s.value && s.verdict ? ', ' + s.verdict : '')).join('; ') || 'The wheel')
  $('ring').style.display = spots.length > 1 ? '' : 'none'
}

// ---- buttons

// What can be asked of a round as it is. With lose it is asked before, as it
// would lose something; main is what comes next, and large.
function buttonsOf(v) {
  const undo = { do: 'undo', text: 'Undo', lose: 'Take the last one back?' }
  switch (v.phase) {
    case 'on hold': return v.tick ? [{ do: 'tick', says: v.tick, text: v.what + ': done', lose: v.what + ': seen to?', main: true }] : []
    case 'paused': return [{ do: 'pause', text: 'Go on', main: true }]
    case 'round done': return !v.onward ? [undo] : [
      v.move ? { do: 'moved', text: `Moved by ${v.move > 0 ? '+' : ''}${v.move} as advised`, lose: 'The adjusters are moved?', main: true }
        : { do: 'onward', text: 'Next step', main: true },
      { do: 'anew', text: 'Measure again', lose: 'Measure all of it again?' }, undo]
  }
  const here = v.ring.find(s => s.current), stored = here && here.value !== '', [rocked, wanted] = v.rocks
  const rocks = rocked > 0 && v.phase !== 'captured'
  const first = {
    bolts: [{ do: 'click', text: 'Clicked', main: true }],
    lock: [
      { do: 'typed', says: 'yes', text: 'Locked and freed', main: true },
      { do: 'typed', says: 'no lock', text: 'Did not lock' }, { do: 'typed', says: 'no free', text: 'Did not free' }],
    check: [{ do: 'typed', says: 'yes', text: 'It is so', main: true }],
    pattern: [],
  }[v.kind] || [{ do: 'capture', text: 'Store', main: !stored && rocked >= wanted }]
  const onward = { do: 'next', text: stored ? 'Next' : 'Skip', main: stored && !first.some(b => b.main) }
  const again = { do: 'retry', text: 'Again' }
  if (rocks && !stored) [onward.lose, again.lose] = ['Leave it without its value?', 'Forget these rocks?']
  return [...onward.main ? [onward, ...first] : [...first, onward], { do: 'back', text: 'Back' }, again, { do: 'pause', text: 'Pause' }, undo]
}

function draw(buttons) {
  $('buttons').replaceChildren(...buttons.map(b => {
    const e = element('button', b.text)
    if (b.main) e.className = 'main'
    let asked = 0
    e.onclick = () => {
      if (b.lose && Date.now() - asked > 4000) { // asked first: it would lose something
        asked = Date.now()
        e.textContent = b.lose
        e.classList.add('sure')
        setTimeout(() => { e.textContent = b.text; e.classList.remove('sure') }, 4000)
        return
      }
      send('do', { do: b.do, text: b.says || '', seen: view.mark })
    }
    return e
  }))
}

// send asks something and shows what became of it, if that is not what was asked.
async function send(what, order) {
  $('answer').textContent = ''
  if (navigator.vibrate) navigator.vibrate(40)
  try {
    const r = await fetch(what, { method: 'POST', body: JSON.stringify({ page, ...order }) })
    $('answer').textContent = r.ok ? '' : await r.text()
    return r.ok
  } catch {
    $('answer').textContent = 'The laptop was not reached: nothing was done.'
  }
}

$('take').onclick = () => send('take', {})

$('typed').onsubmit = async e => {
  e.preventDefault()
  const what = view.phase === 'on hold' ? 'pass' : 'typed'
  if ($('value').value && await send('do', { do: what, text: $('value').value.trim(), seen: view.mark })) $('value').value = ''
}

// ---- voice and tones

// What the ear needs to know of the change from one view to the next, and the
// tone for it; nothing for most changes. It is short: a place, its value, its
// verdict, what to do.
function say(before, now) {
  if (!before || before.step !== now.step || now.bell < before.bell) return [aloud(whole(now)), '']
  const captured = now.bell > before.bell, turned = now.phase !== before.phase
  const parts = !captured ? [] : now.ring.filter((s, i) => s.value !== before.ring[i].value).map(result)
  if (captured && !parts.length) parts.push(...now.ring.filter((s, i) => before.ring[i].current).map(result)) // the same value once more
  if (now.alarm > before.alarm && now.alert) return [aloud(...parts, words.look, now.alert), 'look']
  if (captured) return [aloud(...parts, now.action), 'captured']
  if (turned && now.phase in words.phase) return [aloud(words.phase[now.phase], now.alert || now.action), 'look']
  if (turned && before.phase === 'gauge lost') return [words.back, 'back']
  if (turned && before.phase === 'paused') return [aloud(words.onward, whole(now)), 'back']
  const moved = now.ring.findIndex(s => s.current) !== before.ring.findIndex(s => s.current)
  return moved && before.phase !== 'captured' ? [aloud(whole(now)), ''] : ['', '']
}

// whole is where to be and what to do; many an action names the place itself.
function whole(v) {
  if (v.alert) return words.look + ' ' + v.alert
  const s = v.ring.find(s => s.current)
  return s && v.ring.length > 1 && !v.action.includes(s.label) && !v.action.includes('position ' + s.name) ? called(s) + ' ' + v.action : v.action
}

function called(s) { return /^\d|^$/.test(s.label) ? words.position(s.name) : s.label[0].toUpperCase() + s.label.slice(1) + '.' }

function result(s) { return [called(s), words.word[s.value] || s.value + '.', words.verdict[s.verdict] || ''].join(' ') }

function aloud(...parts) { return words.spoken.reduce((text, [is, said]) => text.replace(is, said), parts.join(' ')).trim() }

const modes = ['voice', 'tones', 'silent']
const speeds = ['1', '1.3', '1.6', '0.8']
let mode = localStorage.mode || ('speechSynthesis' in window ? 'voice' : 'tones')
let speed = localStorage.speed || '1'
let audio // made at the first tap: browsers are silent before

function speak(text, sound) {
  if (mode === 'voice' && 'speechSynthesis' in window) {
    const u = new SpeechSynthesisUtterance(text)
    u.lang = words.lang
    u.rate = +speed
    speechSynthesis.cancel() // what is newer is what counts
    speechSynthesis.speak(u)
  } else if (mode !== 'silent') tone(sound)
}

// One high tone: captured. Three low ones: look at me. Two that rise: back.
const tones = { captured: [880], look: [330, 330, 330], back: [440, 660] }

function tone(sound) {
  (tones[sound] || []).forEach((hz, i) => {
    if (!audio) return
    const at = audio.currentTime + i * .25, o = audio.createOscillator(), g = audio.createGain()
    o.frequency.value = hz
    g.gain.setValueAtTime(.5, at)
    g.gain.exponentialRampToValueAtTime(.001, at + .2)
    o.connect(g).connect(audio.destination)
    o.start(at)
    o.stop(at + .2)
  })
}

function label() {
  $('voice').textContent = { voice: 'Voice on', tones: 'Tones only', silent: 'Silent' }[mode]
  $('speed').textContent = 'Speed ' + speed
  $('light').textContent = document.documentElement.classList.contains('dark') ? 'For sun' : 'For dark'
}

$('voice').onclick = () => {
  mode = localStorage.mode = modes[(modes.indexOf(mode) + 1) % 3]
  if ('speechSynthesis' in window) speechSynthesis.cancel()
  else if (mode === 'voice') mode = localStorage.mode = 'tones'
  label()
}
$('speed').onclick = () => { speed = localStorage.speed = speeds[(speeds.indexOf(speed) + 1) % speeds.length]; label() }
$('repeat').onclick = () => { if (view) speak(aloud(whole(view)), 'back') }
$('light').onclick = () => { localStorage.dark = document.documentElement.classList.toggle('dark') ? 'yes' : 'no'; label() }

// ---- camera

// A photo is drawn anew, upright and at most this wide or high: a workshop's
// network is slow, and what the drawing does not hold, such as where it was
// taken, does not leave the phone.
const longest = 3072
let taken = 0

async function shrink(file) {
  const whole = await createImageBitmap(file, { imageOrientation: 'from-image' })
  const k = Math.min(1, longest / Math.max(whole.width, whole.height))
  const canvas = document.createElement('canvas')
  canvas.width = Math.round(whole.width * k)
  canvas.height = Math.round(whole.height * k)
  canvas.getContext('2d').drawImage(whole, 0, 0, canvas.width, canvas.height)
  whole.close()
  return new Promise(done => canvas.toBlob(done, 'image/jpeg', .92))
}

$('shot').onchange = async () => {
  const file = $('shot').files[0], what = $('what').value
  if (!file) return
  $('photos').textContent = 'sending'
  try {
    const photo = await shrink(file)
    const r = await fetch('photo?page=' + page + '&what=' + encodeURIComponent(what), { method: 'POST', body: photo })
    if (!r.ok) throw new Error(await r.text())
    const img = new Image()
    img.alt = 'the photo stored last'
    img.onload = () => URL.revokeObjectURL(img.src)
    img.src = URL.createObjectURL(photo)
    $('photos').replaceChildren(img, ' ' + ++taken + ' stored')
  } catch (e) {
    $('photos').textContent = ''
    $('answer').textContent = e.message || 'The photo was not stored.'
  }
  $('shot').value = ''
}

// ---- the screen stays awake

// The wake lock needs a secure context, and a laptop on a workshop's network has
// no certificate a phone would trust. A hidden film that plays in a loop would do
// it on some phones, stops other sound and eats the battery: the phone's own
// setting is surer, so the page says that instead.
async function stayAwake() {
  if (!('wakeLock' in navigator)) {
    $('awake').textContent = 'This page cannot keep the screen on: set the phone\'s own screen timeout to its longest (Settings, Display). After sleep it goes on by itself.'
    return
  }
  try { await navigator.wakeLock.request('screen') } catch { /* asked again when it is looked at */ }
}

// ---- begin

document.addEventListener('pointerdown', () => {
  audio = new (window.AudioContext || window.webkitAudioContext)()
  stayAwake()
  if (mode === 'voice' && 'speechSynthesis' in window) speechSynthesis.speak(new SpeechSynthesisUtterance('')) // lets later ones be heard
}, { once: true })
document.addEventListener('visibilitychange', () => {
  if (document.visibilityState !== 'visible' || over) return
  stayAwake()
  if (Date.now() - heard > staleAfter / 2) connect()
})
document.documentElement.classList.toggle('dark', localStorage.dark ? localStorage.dark === 'yes' : matchMedia('(prefers-color-scheme: dark)').matches)
label()
stayAwake()
heard = Date.now()
setInterval(watch, 1000)
connect()
