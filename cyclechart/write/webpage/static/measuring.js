// For tests, which hold the page to its times and pitches: nothing here is used by the page itself.

/** All that a road hands out up to a time. */
function scheduled(position, ask, until) {
  const road = new Road(data, position, { factor: 1, loop: null, sing: 0, count: false, ...ask });
  return road.until(until);
}

/** The page's own sound, made faster than it sounds: samples of both sides. */
async function renderOffline(seconds, options = {}) {
  const { position = 0, ask = {}, shift = 0, drone = false, room = true } = options;
  const context = new OfflineAudioContext(2, Math.round(seconds * RATE), RATE);
  const dry = { ...settings, level: 0, ...options };
  await Promise.all(Object.keys(data.sounds).map((name) => sounds.open(name)));
  await sounds.open("room");
  const studio = new Studio(context, dry);
  await studio.furnished;
  if (!room) studio.room.gain.value = 0;
  if (drone) {
    const alone = new DroneAlone({ context, studio, settings: { ...dry, shift, drone: true } });
    alone.update();
    alone.pump(seconds);
  } else {
    const all = { factor: 1, loop: null, sing: 0, count: false, ...ask };
    const take = new Take(studio, 0, all.factor, shift);
    for (const event of scheduled(position, all, seconds)) take.add(event);
  }
  const made = await context.startRendering();
  return [made.getChannelData(0), made.getChannelData(1)];
}

window.__page = { data, settings, player, act, partView, schedule: scheduled, renderOffline, turnAt, sounds };
