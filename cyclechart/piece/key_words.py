"""The words that musicians write for keys of a piece: to a key of ours, or to what to do."""

from __future__ import annotations

_MODE = dict.fromkeys(
    ("raga", "raag", "rag", "ragam", "scale", "thaat", "that", "mela", "tonality"), "mode"
)
_CYCLE = dict.fromkeys(
    ("tala", "taal", "tal", "talam", "time", "meter", "metre", "time-signature", "timesignature"),
    "cycle",
)
_TEMPO = dict.fromkeys(("bpm", "speed", "laya", "tempi", "metronome", "pace"), "tempo")
_TONIC = dict.fromkeys(("sa", "shruti", "sruti", "root", "pitch", "tonal-center"), "tonic")
_IN_STEP = "it goes into a step of the form: - play: head, with {key} below it"

PIECE_WORDS = {
    **_MODE, **_CYCLE, **_TEMPO, **_TONIC,
    "key": "tonic",
    **dict.fromkeys(("name", "song", "heading", "tune-name", "bandish"), "title"),
    **dict.fromkeys(("author", "by", "writer", "music-by", "written-by", "artist"), "composer"),
    **dict.fromkeys(("band", "musician", "instrument", "ensemble", "part", "instrumentation",
                     "lineup", "line-up", "personnel", "group"), "players"),
    **dict.fromkeys(("note", "melody", "music", "tune", "section", "phrase", "sargam", "svara",
                     "swara", "head", "theme", "verse", "chorus"),
                    "lines: a name, and below it sargam: S R G m"),
    **dict.fromkeys(("structure", "arrangement", "order", "roadmap", "road-map", "sequence",
                     "layout", "step"), "form"),
    **dict.fromkeys(("intro", "introduction", "outro", "ending", "coda", "bridge", "solo"),
                    "a line of its own below lines:, and its place in the form: - play: intro"),
    **dict.fromkeys(("chord", "change", "harmony", "progression"),
                    "a line of chords below lines: changes: {chords: Dm7 G7}"),
    **dict.fromkeys(("bar", "measure", "repeat"),
                    _IN_STEP.format(key="times: or cycles:")),
    **dict.fromkeys(("feel", "groove", "shuffle"), "swing"),
    **dict.fromkeys(("temperament", "intonation"), "tuning"),
    **dict.fromkeys(("exception", "licence", "license", "ignore"), "liberties"),
    "countin": "count-in", "count": "count-in",
    "lyric": "words: beside the text of a line",
    "words": "words: beside the text of a line",
    "setlist": "a set list is a file of its own: set: and pieces:",
}  # fmt: skip

LINE_WORDS = {
    **dict.fromkeys(("melody", "note", "tune", "music", "svara", "swara", "sargam-text", "text",
                     "phrase", "theme", "line"), "sargam"),
    **dict.fromkeys(("bol", "drum", "theka", "syllable", "konnakol", "tabla", "rhythm-text"),
                    "strokes"),
    **dict.fromkeys(("lyric", "sahitya", "verse"), "words"),
    **dict.fromkeys(("start", "begin", "starts-on", "beat", "from-beat"), "begins"),
    **dict.fromkeys(("end", "land", "lands-on", "landing"), "lands"),
    **dict.fromkeys(("harmony", "change", "chord", "progression"), "chords"),
    **dict.fromkeys(("western", "letter-name", "abc"), "letters"),
    **dict.fromkeys(("number", "degree"), "degrees"),
    **dict.fromkeys(("carnatic", "southern", "solfa", "sixteen"), "solfa16"),
    **dict.fromkeys(("transpose", "shift"), "move"),
    **dict.fromkeys(("tihai", "tehai", "chakradar", "korvai"), "cadence"),
    **dict.fromkeys(("sequence", "joined"), "chain"),
    **dict.fromkeys(("repeat", "time", "times", "x"), _IN_STEP.format(key="times: 2")),
    **dict.fromkeys(("bar", "measure", "cycle", "length"),
                    "leave it out: a line is as long as its text; a step of the form says how "
                    "often it is played, with times:"),
    **dict.fromkeys(("player", "instrument", "by", "who"), _IN_STEP.format(key="by: flute")),
    **dict.fromkeys(("tempo", "bpm"), _IN_STEP.format(key="tempo: 120")),
    **dict.fromkeys(("dynamic", "volume"), _IN_STEP.format(key="dynamics: mf")),
    **_MODE,
}  # fmt: skip

STEP_WORDS = {
    **dict.fromkeys(("repeat", "x", "time", "repetition"), "times"),
    **dict.fromkeys(("bar", "measure", "round", "length", "avartan", "avartana", "avarta",
                     "turn", "chorus", "choruses"), "cycles"),
    **dict.fromkeys(("section", "head", "melody", "tune", "part", "theme"), "play"),
    "chord": "over: LINE beside a solo, where LINE is a line of chords; or play: LINE",
    "change": "over: LINE beside a solo, where LINE is a line of chords; or play: LINE",
    **_MODE, **_TEMPO, **_TONIC, "key": "tonic",
    **{word: "cycle" for word in _CYCLE if word != "time"},
    **dict.fromkeys(("player", "instrument", "who", "musician", "with", "band"), "by"),
    **dict.fromkeys(("comment", "text", "remark", "direction", "instruction"), "note"),
    **dict.fromkeys(("cue", "until"), "on-cue"),
    **dict.fromkeys(("hold", "pause", "corona"), "fermata"),
    **dict.fromkeys(("volume", "dynamic", "loudness", "level"), "dynamics"),
    **dict.fromkeys(("feel", "shuffle"), "swing"),
    **dict.fromkeys(("alap", "alaap", "rubato", "freely"), "free"),
    **dict.fromkeys(("vamp", "comp", "time-feel", "ostinato"), "groove"),
    **dict.fromkeys(("trading", "exchange", "fours"), "trade"),
    **dict.fromkeys(("improvise", "improv", "improvisation", "soloist"), "solo"),
    **dict.fromkeys(("background", "backing", "riff", "accompaniment"), "under"),
}  # fmt: skip

PLAYER_WORDS = {
    **dict.fromkeys(("role", "part", "does", "play", "function"), "plays"),
    **dict.fromkeys(("name", "on", "instr", "sound", "voice"), "instrument"),
    **dict.fromkeys(("transpose", "shift", "8va", "register"), "octave"),
    **dict.fromkeys(("string", "tuned", "second-string"), "drone"),
    **dict.fromkeys(("clef", "staff", "key", "written", "notation"), "reads"),
}  # fmt: skip

ROLE_WORDS = {
    **dict.fromkeys(("bass", "bassline", "bass-line", "walking", "walking-bass", "root", "low-end"),
                    "pedal"),
    **dict.fromkeys(("comping", "comp", "chord", "harmony", "pad", "accompaniment", "change",
                     "key", "rhythm-guitar", "voicing"), "voicings"),
    **dict.fromkeys(("rhythm", "time", "drum", "groove", "tala", "taal", "percussion", "beat",
                     "strokes", "bol"), "theka"),
    **dict.fromkeys(("lead", "tune", "head", "line", "solo", "sing", "vocal", "lead-vocal",
                     "theme", "horn"), "melody"),
    **dict.fromkeys(("sruti", "shruti", "tanpura", "sa"), "drone"),
}  # fmt: skip
"""The words for what a player plays."""
