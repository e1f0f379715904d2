// The filters of a player for a small loudspeaker, as in the recordings (sound/loudspeaker.py).

import { data, gainOf } from "./data.js";

/** @typedef {import("./schema.js").Speaker} Speaker */

const CURVE_POINTS = 8193;

/**
 * The curve that gives the low end further partials; silence stays silent.
 * @param {number} drive
 * @param {number} bias
 */
function partialsCurve(drive, bias) {
  return Float32Array.from({ length: CURVE_POINTS }, (_, at) => {
    const value = (2 * at) / (CURVE_POINTS - 1) - 1;
    return Math.tanh(drive * value + bias) - Math.tanh(bias);
  });
}

/**
 * @param {BaseAudioContext} context
 * @param {"lowpass" | "highpass"} type
 * @param {number} frequency
 * @param {number[]} qualities one for each section of second order
 */
function pass(context, type, frequency, qualities) {
  // Of these two the API takes the quality in decibels.
  return qualities.map((q) => new BiquadFilterNode(context, { type, frequency, Q: 20 * Math.log10(q) }));
}

/**
 * Connect nodes in a row.
 * @param {AudioNode[]} nodes
 */
function inRow(...nodes) {
  nodes.reduce((before, after) => before.connect(after));
}

/**
 * Filter what comes from a node for a small loudspeaker.
 * @param {AudioNode} from
 * @param {AudioNode} to
 * @param {Speaker} speaker the dB of the level are left to the caller
 */
export function filterForLoudspeaker(from, to, [, shelf, partials]) {
  const { context } = from;
  const { low, middle, band, ends, drive, bias, second, fourth } = data.loudspeaker;
  const raised = new BiquadFilterNode(context, { type: "highshelf", frequency: middle, gain: shelf });
  inRow(from, ...pass(context, "highpass", low, second), raised, to);
  if (partials === null) return;
  inRow(
    from,
    ...pass(context, "lowpass", band, fourth),
    new WaveShaperNode(context, { curve: partialsCurve(drive, bias) }),
    ...pass(context, "highpass", ends[0], fourth),
    ...pass(context, "lowpass", ends[1], second),
    new GainNode(context, { gain: gainOf(partials) }),
    to,
  );
}
