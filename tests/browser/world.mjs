// A garden to try the page on: invented weather with a hot spell, some days simulated by the real
// engine, then the real daemon on simulated valves, on a free port of this machine.
import { execFileSync, spawn } from 'node:child_process';
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const kHour = 3600e3;
const kDay = 24 * kHour;
const iso = ms => new Date(ms).toISOString().slice(0, 19) + 'Z';
const date = ms => iso(ms).slice(0, 10);

// The garden lies on UTC where it is summer now; it may be watered at any hour, so that the tests
// do not depend on the time of the day.
function gardenText(now, folder) {
  const north = new Date(now).getUTCMonth() >= 3 && new Date(now).getUTCMonth() <= 8;
  return `[site]
name = "Trial <b>garden</b>"
latitude = ${north ? 41 : -41}
longitude = 0
elevation = "210 m"
timezone = "Etc/UTC"
[supply]
flow = "40 L/min"
hours = ["00:00-24:00"]
[weather]
csv = "weather.csv"
[[zone]]
id = "front"
name = "Front lawn"
area = "90 m2"
soil = "loam"
precipitation_rate = "12 mm/h"
valve = { driver = "simulated", channel = 1, file = "${join(folder, 'valves.log')}" }
[zone.establishment]
method = "seed"
start = ${date(now - 5 * kDay)}
mix = [ { species = "perennial_ryegrass", share = 1 } ]
[[zone]]
id = "back"
name = "Back lawn"
area = "60 m2"
soil = "sandy_loam"
precipitation_rate = "12 mm/h"
valve = { driver = "simulated", channel = 2, file = "${join(folder, 'valves.log')}" }
[zone.establishment]
method = "seed"
start = ${date(now - 5 * kDay)}
mix = [ { species = "kentucky_bluegrass", share = 1 } ]
`;
}

function freePort() {
  return new Promise((resolve, reject) => {
    const server = createServer();
    server.once('error', reject);
    server.listen(0, '127.0.0.1', () => {
      const { port } = server.address();
      server.close(() => resolve(port));
    });
  });
}

export class World {
  static async make(build) {
    const world = new World();
    world.build = build;
    world.folder = mkdtempSync(join(tmpdir(), 'firstmow-browser-'));
    const now = Date.now();
    const hour = Math.floor(now / kHour) * kHour;
    const garden = join(world.folder, 'garden.toml');
    writeFileSync(garden, gardenText(now, world.folder));
    const latitude = /latitude = (\S+)/.exec(readFileSync(garden, 'utf8'))[1];
    world.hotDay = date(now - kDay);
    const weather = execFileSync(join(build, 'invent_weather'), [
      ...['--latitude', latitude, '--longitude', '0', '--elevation', '210'],
      ...['--from', `${date(now - 6 * kDay)}T00:00:00Z`, '--hours', String(9 * 24), '--seed', '3'],
      ...['--hot-spell', `${date(now - 2 * kDay)}..${date(now)}`],
    ]).toString();
    writeFileSync(join(world.folder, 'weather.csv'), weather);
    const past = weather.split('\n').filter((line, i) => i === 0 || line.slice(0, 20) < iso(hour));
    writeFileSync(join(world.folder, 'past.csv'), past.join('\n') + '\n');
    execFileSync(join(build, 'firstmow'), [
      ...['simulate', '--garden', garden, '--weather', join(world.folder, 'past.csv')],
      ...['--from', date(now - 5 * kDay), '--to', date(hour - kHour)],
      ...['--out', join(world.folder, 'season')],
    ]);
    mkdirSync(join(world.folder, 'state'));
    copyFileSync(
      join(world.folder, 'season/season.sqlite'),
      join(world.folder, 'state/firstmow.sqlite'),
    );
    world.port = await freePort();
    world.url = `http://127.0.0.1:${world.port}`;
    await world.start();
    world.key = readFileSync(join(world.folder, 'state/token'), 'utf8').trim();
    return world;
  }

  async start() {
    this.daemon = spawn(
      join(this.build, 'firstmowd'),
      [
        ...['--garden', join(this.folder, 'garden.toml'), '--state-dir', join(this.folder, 'state')],
        ...['--listen', `127.0.0.1:${this.port}`],
      ],
      { stdio: ['ignore', 'pipe', 'pipe'] },
    );
    this.log = '';
    for (const stream of [this.daemon.stdout, this.daemon.stderr])
      stream.on('data', bytes => (this.log += bytes));
    for (let tries = 0; tries < 600; ++tries) {
      if (this.daemon.exitCode !== null) throw new Error(`the daemon ended: ${this.log}`);
      try {
        const reply = await fetch(`${this.url}/api/v1/status`);
        if (reply.ok && (await reply.json()).zones.length === 2) return;
      } catch {
        /* not yet */
      }
      await new Promise(resolve => setTimeout(resolve, 100));
    }
    throw new Error(`the daemon does not answer: ${this.log}`);
  }

  async stop() {
    if (this.daemon.exitCode !== null) return;
    const ended = new Promise(resolve => this.daemon.once('exit', resolve));
    this.daemon.kill('SIGTERM');
    await ended;
  }

  async end() {
    await this.stop();
    rmSync(this.folder, { recursive: true, force: true });
  }

  // A code for one browser.
  pair() {
    const words = ['pair', '--state-dir', join(this.folder, 'state')];
    const options = { stdio: ['ignore', 'pipe', 'ignore'] };
    return execFileSync(join(this.build, 'firstmow'), words, options).toString().trim();
  }

  // Another garden file, taken over by the running daemon.
  async changeGarden(how) {
    const file = join(this.folder, 'garden.toml');
    const before = this.log.length;
    writeFileSync(file, how(readFileSync(file, 'utf8')));
    this.daemon.kill('SIGHUP');
    for (let tries = 0; tries < 300; ++tries) {
      if (this.log.slice(before).includes('The garden file was read again')) return;
      await new Promise(resolve => setTimeout(resolve, 100));
    }
    throw new Error(`the garden file was not read again: ${this.log.slice(before)}`);
  }

  async get(path) {
    return (await fetch(this.url + path)).json();
  }

  // Whether the simulated valve of a channel is open, by its own record.
  valveIsOpen(channel) {
    let open = false;
    for (const line of readFileSync(join(this.folder, 'valves.log'), 'utf8').split('\n')) {
      const [, number, state] = line.split(' ');
      if (Number(number) === channel) open = state === 'open';
    }
    return open;
  }
}
