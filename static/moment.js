// The device's own clock in milliseconds since 1970, without its jumps: a phone that gets the right time from the network
// while a program runs must not move taps or the running clock by an hour. A jump back, or one further ahead than a phone
// may have slept in the middle of a program, is no time that has passed.

const ASLEEP_MS = 10 * 60 * 1000; // while a phone sleeps, `performance.now` may stand still
const BACK_MS = 1000;
let shift = 0;
let wall = Date.now();
let ran = performance.now();

export function moment() {
  const [newWall, newRan] = [Date.now(), performance.now()];
  const jumped = newWall - wall - (newRan - ran);
  if (jumped < -BACK_MS || jumped > ASLEEP_MS) shift -= jumped;
  [wall, ran] = [newWall, newRan];
  return Math.round(newWall + shift);
}
