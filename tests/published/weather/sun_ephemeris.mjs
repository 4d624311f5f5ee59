// Makes sun_ephemeris.csv: solar noon, sunrise and sunset by an ephemeris that is not ours.
//
//   npm install astronomy-engine      (in a folder of its own; 2.1.19 was used)
//   copy this file there, then: node sun_ephemeris.mjs > sun_ephemeris.csv
//
// astronomy-engine (MIT licence) works from VSOP87 and nutation series, and is checked by its
// author against JPL Horizons. Sunrise is the upper limb at 34' of refraction, at sea level.
import * as Astronomy from 'astronomy-engine';

// Round coordinates, no particular garden.
const places = [
    ['equator', 0, -78], ['south 34', -34, 18.5], ['south 45', -45, 170], ['north 21', 21, 155],
    ['north 40', 40, -105], ['north 52', 52, 5], ['north 59', 59, 18], ['north 70', 70, 25],
];
const dates = [
    '2024-02-29', '2025-03-20', '2025-06-21', '2025-09-22', '2025-12-21', '2026-08-15',
    '2026-08-31', '2026-09-15', '2026-10-10', '2031-11-03', '2035-05-12',
];
const dayMs = 86400000;

const iso = (time) => time
    ? new Date(Math.round(time.date.getTime() / 1000) * 1000).toISOString().replace('.000', '')
    : '';

console.log('place,latitude_deg,longitude_deg,date,noon,sunrise,sunset');
for (const [name, latitude, longitude] of places) {
    const observer = new Astronomy.Observer(latitude, longitude, 0);
    for (const date of dates) {
        // The noon of this date at the meridian lies within twenty minutes of its mean noon.
        const meanNoon = Date.parse(date + 'T12:00:00Z') - longitude / 360 * dayMs;
        const noon = Astronomy.SearchHourAngle(Astronomy.Body.Sun, observer, 0,
                                               new Date(meanNoon - dayMs / 12)).time;
        const search = (direction, fromMs) => Astronomy.SearchRiseSet(
            Astronomy.Body.Sun, observer, direction, new Date(fromMs), 0.5);
        const rise = search(+1, noon.date.getTime() - dayMs / 2);
        const set = search(-1, noon.date.getTime());
        console.log([name, latitude, longitude, date, iso(noon), iso(rise), iso(set)].join(','));
    }
}
