// The types of the data that the page is given: the same keys and types as schema.py and the tables
// of sound/spectra.py and sound/voice_tables.py, which a test compares. Nothing here goes into the page.

/** @typedef {[number, number][]} Curve */

/** @typedef {[number, number, number, number, Curve, number]} ToneEvent */

/** @typedef {[number, number, number]} StrokeEvent */

/** @typedef {[number, number, number | null]} Speaker */

/**
 * @typedef {object} Beat
 * @property {number} at
 * @property {number} length
 * @property {string} name
 * @property {string} sign
 * @property {boolean} open
 * @property {boolean} opens_section
 * @property {string} syllable
 */

/**
 * @typedef {object} CycleKind
 * @property {string} name
 * @property {Beat[]} beats
 */

/**
 * @typedef {object} Turn
 * @property {"count-in" | "lead-in" | "cycle" | "free"} kind
 * @property {number} number
 * @property {number} cycle
 * @property {number[]} beats
 * @property {number} section
 */

/**
 * @typedef {object} Section
 * @property {string} letter
 * @property {string} name
 * @property {number} start
 * @property {number} end
 * @property {string} sa
 * @property {string} mode
 * @property {number} key
 * @property {[number, number]} turns
 * @property {[number, number]} loop
 */

/**
 * @typedef {object} VoiceData
 * @property {string} name
 * @property {string} title
 * @property {"melody" | "voicings" | "pedal" | "drone" | "drums" | "count"} role
 * @property {string} wave
 * @property {ToneEvent[]} tones
 * @property {StrokeEvent[]} strokes
 * @property {string[]} sounds
 * @property {number} level
 * @property {number} pan
 * @property {number} room
 * @property {Speaker} speaker
 * @property {number[][]} [stops]
 */

/**
 * @typedef {object} LoudspeakerData
 * @property {number} low
 * @property {number} middle
 * @property {number} band
 * @property {[number, number]} ends
 * @property {number} drive
 * @property {number} bias
 * @property {number[]} second
 * @property {number[]} fourth
 * @property {Speaker} drone
 */

/**
 * @typedef {object} SoundData
 * @property {string} flac
 * @property {number | null} cents
 * @property {number} velocity
 * @property {string[]} [touches]
 */

/**
 * @typedef {object} PartData
 * @property {string} player
 * @property {string[]} systems
 * @property {[number, number, string][]} notes
 * @property {[number, string, string, string][]} heads
 * @property {string} sa
 * @property {[number, number, string][]} [measures]
 * @property {[number, number, string][]} [cells]
 */

/**
 * @typedef {object} PageData
 * @property {string} title
 * @property {string} composer
 * @property {string} mode
 * @property {string} sa
 * @property {number} hertz
 * @property {string[]} names
 * @property {number} key
 * @property {number} tempo
 * @property {number} length
 * @property {CycleKind[]} cycles
 * @property {Turn[]} turns
 * @property {Section[]} sections
 * @property {VoiceData[]} voices
 * @property {Record<string, Voice>} waves
 * @property {Record<string, SoundData>} sounds
 * @property {string} room
 * @property {LoudspeakerData} loudspeaker
 * @property {Record<string, Record<string, string>>} parts
 * @property {[number, string][]} drone
 * @property {[string, number][]} drone_tones
 * @property {string} caution
 * @property {boolean} [live]
 * @property {boolean} [offline]
 * @property {string} hearing
 */

/**
 * @typedef {object} Zone
 * @property {number} hz
 * @property {number[][]} levels
 */

/**
 * @typedef {object} Noise
 * @property {number} low
 * @property {number} high
 * @property {number} breath
 * @property {number} burst
 * @property {number} burst_seconds
 */

/**
 * @typedef {object} Tremor
 * @property {number} rate
 * @property {number} depth
 * @property {number} delay
 */

/**
 * @typedef {object} Drift
 * @property {number} level
 * @property {number} bright
 * @property {number} partials
 * @property {number} rate
 */

/**
 * @typedef {object} Voice
 * @property {Zone[]} zones
 * @property {number} attack
 * @property {number} decay
 * @property {number} sustain
 * @property {number} release
 * @property {number} soft
 * @property {number} loud
 * @property {Noise} noise
 * @property {number} gain
 * @property {number} bloom
 * @property {number} fade
 * @property {number} fade_by_pitch
 * @property {number} keeps
 * @property {number} dulls
 * @property {Tremor} tremor
 * @property {Drift} drift
 */

export {};
