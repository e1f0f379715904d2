// A strip of the mixer: from the sounds of a voice over the balance and its fader to its place.

import { gainOf } from "./data.js";
import { filterForLoudspeaker } from "./loudspeaker.js";

/** @typedef {import("./schema.js").Speaker} Speaker */

/** Seconds of the time constant with which a gain changes, without a click. */
const SMOOTH = 0.012;

export class Strip {
  /**
   * @param {BaseAudioContext} context
   * @param {number} gain
   * @param {Speaker} speaker how it differs on a loudspeaker
   */
  constructor(context, gain, speaker) {
    this.speaker = speaker;
    /** Where the sounds go in. */
    this.input = new GainNode(context, { gain: 1 });
    this.fader = new GainNode(context, { gain });
    this.plain = new GainNode(context, { gain: 1 });
    this.input.connect(this.plain).connect(this.fader);
    /** @type {GainNode | null} the way through the filters, once it is asked for */
    this.filtered = null;
  }

  /** @param {boolean} forLoudspeaker */
  setBalance(forLoudspeaker) {
    const { input, fader } = this;
    if (!this.filtered) {
      if (!forLoudspeaker) return;
      this.filtered = new GainNode(input.context, { gain: 0 });
      filterForLoudspeaker(input, this.filtered, this.speaker);
      this.filtered.connect(fader);
    }
    setGain(this.plain.gain, forLoudspeaker ? 0 : 1, input.context);
    setGain(this.filtered.gain, forLoudspeaker ? gainOf(this.speaker[0]) : 0, input.context);
  }
}

/**
 * Change a gain without a click; before anything sounds, at once.
 * @param {AudioParam} param
 * @param {number} value
 * @param {BaseAudioContext} context
 */
export function setGain(param, value, context) {
  if (context.currentTime === 0) param.value = value;
  else param.setTargetAtTime(value, context.currentTime, SMOOTH);
}
