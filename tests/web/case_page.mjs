// The case page in a real browser, opened from disk as a learner opens it.
import assert from 'node:assert/strict';
import { mkdirSync, readFileSync } from 'node:fs';
import { after, before, test } from 'node:test';
import { pathToFileURL } from 'node:url';

const tools = process.env.CANALOGUE_WEB_TOOLS, folder = process.env.CANALOGUE_WEB_EXPORT;
const { chromium } = await import(pathToFileURL(`${tools}/playwright-core/index.mjs`));
const axe = readFileSync(`${tools}/axe-core/axe.min.js`, 'utf8');
const here = pathToFileURL(folder).href;
const shots = process.env.CANALOGUE_WEB_SHOTS;  // a folder: pictures of the page are put there, for eyes
if (shots) mkdirSync(shots, { recursive: true });

let browser;
before(async () => { browser = await chromium.launch({ executablePath: process.env.CANALOGUE_CHROMIUM, args: ['--no-sandbox', '--autoplay-policy=no-user-gesture-required', '--mute-audio'] }); });
after(async () => { await browser.close(); });

// A page with all that it asked for and complained of.
async function opened(file = 'case/case.html', options = {}) {
  const context = await browser.newContext({ viewport: { width: 1366, height: 900 }, ...options, bypassCSP: false });
  const page = await context.newPage();
  const asked = [], faults = [];
  await page.route('**/*', (route) => {
    const url = route.request().url();
    asked.push(url);
    return url.startsWith(`${here}/`) ? route.continue() : route.abort();
  });
  page.on('console', (m) => { if (m.type() === 'error' || m.type() === 'warning') faults.push(m.text()); });
  page.on('pageerror', (e) => faults.push(e.message));
  await page.goto(`${here}/${file}`);
  if (file.startsWith('case/')) await page.waitForFunction(() => document.querySelector('video').readyState >= 2);
  return { page, asked, faults };
}
const now = (page) => page.evaluate(() => document.querySelector('video').currentTime);
const near = (value, wanted, by = 0.1) => assert.ok(Math.abs(value - wanted) <= by, `${value} is not ${wanted}`);
const told = (page) => page.evaluate(() => JSON.parse(document.getElementById('told').textContent));
const shot = async (page, name, whole = true) => { if (shots) await page.screenshot({ path: `${shots}/${name}.png`, fullPage: whole }); };

// No violation of WCAG 2.2 A and AA, nor of good practice, that the examiner can see.
async function examined(page, where) {
  const session = await page.context().newCDPSession(page);
  await session.send('Runtime.evaluate', { expression: `${axe};undefined` });  // as a person's own tools would: the page's policy lets no script in
  const { result } = await session.send('Runtime.evaluate', { expression: "axe.run(document, { preload: false }).then((r) => JSON.stringify(r.violations.map((v) => v.id + ': ' + v.nodes.map((n) => n.target.join(' ') + ' ' + n.failureSummary).join('; '))))", awaitPromise: true });
  assert.deepEqual(JSON.parse(result.value), [], where);
}

test('opens from disk, plays, and asks for nothing outside its folder', async () => {
  const { page, asked, faults } = await opened();
  assert.ok(await page.evaluate(() => document.querySelector('video').canPlayType('video/mp4; codecs="avc1.64001f, mp4a.40.2"')), 'this browser has no H.264');
  await page.click('#play');
  await page.waitForFunction(() => document.querySelector('video').currentTime > 0.5);
  assert.equal(await page.textContent('#play'), 'Pause');
  await page.click('#play');
  await page.waitForFunction(() => document.querySelector('video').paused);
  await page.evaluate(() => document.querySelectorAll('img').forEach((i) => { i.loading = 'eager'; }));
  await page.waitForFunction(() => [...document.querySelectorAll('img')].every((i) => i.complete && i.naturalWidth > 0));
  assert.deepEqual(asked.filter((url) => !url.startsWith(`${here}/case/`)), []);
  assert.ok(asked.some((url) => url.endsWith('/clip.mp4')));
  assert.deepEqual(faults, []);
  await shot(page, 'desktop');
});

test('an event, a chapter, a still, a mark on its lane and the slider lead to their place in the film', async () => {
  const { page } = await opened();
  const { events, chapters } = await told(page);
  await page.click('.list .go.event >> nth=1');
  near(await now(page), events[1].at);
  await page.click('.list .go.part >> nth=2');
  near(await now(page), chapters[2].at);
  await page.click('.lane.right .stop >> nth=0');
  near(await now(page), events[0].at);
  const still = await page.getAttribute('.stills li:not([hidden]) .go >> nth=0', 'data-at');
  await page.click('.stills li:not([hidden]) .go >> nth=0');
  near(await now(page), Number(still));
  await page.locator('#place').fill('10');
  near(await now(page), 10);
  await page.focus('#place');
  await page.keyboard.press('ArrowLeft');
  near(await now(page), 5);
  assert.match(await page.getAttribute('#place', 'aria-valuetext'), /^0:05 of /);
});

test('marks lie beside one another: none hides the other, on a wide and on a narrow page', async () => {
  for (const width of [1366, 360]) {
    const { page } = await opened('case/case.html', { viewport: { width, height: 740 } });
    const boxes = await page.evaluate(() => [...document.querySelectorAll('.stop')].map((s) => { const r = s.getBoundingClientRect(); return [r.x + 2, r.y + 2, r.right - 2, r.bottom - 2]; }));
    boxes.forEach((a, i) => boxes.slice(i + 1).forEach((b) => assert.ok(a[0] >= b[2] || b[0] >= a[2] || a[1] >= b[3] || b[1] >= a[3], `at ${width}`)));
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `scrolls sideways at ${width}`);
  }
});

test('captions show while they are said, can be switched off, and are in the transcript', async () => {
  const { page } = await opened();
  const { tracks } = await told(page), cue = tracks[0].cues[0];
  await page.evaluate((t) => { document.querySelector('video').currentTime = t; }, (cue.from + cue.until) / 2);
  await page.waitForFunction((words) => document.querySelector('.captions').textContent === words, cue.words);
  await page.click('#captions');
  assert.equal(await page.isVisible('.captions'), false);
  await page.click('#captions');
  assert.equal(await page.isVisible('.captions'), true);
  assert.match(await page.textContent('details'), /blocked by hard wax/);
});

test('the search finds captions and events, says how many, and leads there', async () => {
  const { page } = await opened();
  const { tracks, events } = await told(page);
  await come_to(page, 0);  // what is asked about is found once it is answered
  await page.click('.choices button >> nth=0');
  await page.fill('#sought', 'WAX');
  const wanted = events.filter((e) => /wax/i.test(e.words)).length + tracks[0].cues.filter((c) => /wax/i.test(c.words)).length;
  assert.ok(wanted >= 2);
  assert.equal(await page.locator('.hits .go').count(), wanted);
  assert.equal(await page.textContent('.found'), `${wanted} places`);
  await page.click('.hits .go.line >> nth=0');
  near(await now(page), tracks[0].cues.find((c) => /wax/i.test(c.words)).from);
  await page.fill('#sought', 'no such words');
  assert.equal(await page.textContent('.found'), '0 places');
  await page.fill('#sought', '');
  assert.equal(await page.isVisible('.list .go.event >> nth=0'), true);
});

// Plays up to a question, as a learner comes to it.
async function come_to(page, number) {
  const { questions } = await told(page);
  await page.evaluate((t) => { document.querySelector('video').currentTime = t; }, questions[number].at - 0.4);
  await page.waitForFunction(() => !document.querySelector('video').seeking);
  await page.click('#play');
  await page.waitForSelector('.question', { state: 'visible' });
  await page.waitForFunction(() => !document.querySelector('video').seeking);
  near(await now(page), questions[number].at, 0.04);
  assert.ok(await page.evaluate(() => document.querySelector('video').paused));
  return questions[number];
}

test('what a question asks about is told beside the film only when it is answered, and hidden again when the answer is forgotten', async () => {
  const { page } = await opened();
  const { events, questions } = await told(page), words = events[questions[0].event].words;
  assert.match(words, /wax/i);
  const seen = () => page.evaluate(() => document.querySelector('.list').textContent + [...document.querySelectorAll('.stop')].map((s) => s.title).join(' '));
  assert.ok(!(await seen()).includes(words));
  assert.match(await seen(), /Question 1 asks about this/);
  await page.fill('#sought', 'wax');
  assert.ok(!(await page.textContent('.hits')).includes(words));
  await page.fill('#sought', '');
  const stills = () => page.evaluate(() => [...document.querySelectorAll('.stills li')].filter((s) => s.getClientRects().length).map((s) => s.textContent).join(' '));
  assert.ok(!(await stills()).includes(words));
  assert.equal(await page.getAttribute('video', 'poster'), null);
  await come_to(page, 0);
  await page.click('.choices button >> nth=0');
  assert.ok((await seen()).includes(words));
  assert.ok((await stills()).includes(words));
  await page.click('#reset');
  assert.ok(!(await seen()).includes(words));
});

test('the film stops at a question with choices, reveals the answer and the nearest event, and keeps the score', async () => {
  const { page } = await opened();
  const question = await come_to(page, 0);
  assert.match(await page.textContent('.question h2'), /What blocks this canal\?/);
  await shot(page, 'question-choice', false);
  await examined(page, 'question open');
  await page.click('.choices button >> nth=0');
  assert.equal(await page.textContent('.verdict'), 'Not this one.');
  assert.match(await page.textContent('.choices .right'), /Hard wax.*Right answer/);
  assert.ok((await page.textContent('.question')).includes(question.reveals));
  assert.match(await page.textContent('.near'), /Nearest event, at 0:0\d: Blockage found: complete, hard wax/);
  await shot(page, 'question-answered', false);
  await examined(page, 'question answered');
  assert.match(await page.textContent('#score'), /^0 right of 1 answered; 2 in all\.$/);
  await page.click('.question .main');
  await page.waitForFunction((t) => document.querySelector('video').currentTime > t + 0.3, question.at);  // it is not asked again
  await page.reload();
  assert.match(await page.textContent('#score'), /^0 right of 1 answered/);
  await page.click('.again >> nth=0');
  await page.click('.choices button >> nth=1');
  assert.equal(await page.textContent('.verdict'), 'Right.');
  assert.match(await page.textContent('#score'), /^1 right of 1 answered/);
  await page.click('#reset');
  assert.match(await page.textContent('#score'), /^0 right of 0 answered/);
});

// The middle of the white box: the picture, 1110 by 624, stands in the middle of a film of 1280 by 720.
const bead = { x: (85 + 1110 * 330 / 640) / 1280, y: 624 * 220 / 360 / 720 };

test('a spot is marked with the mouse: there it is right, elsewhere it is not', async () => {
  const { page } = await opened();
  await come_to(page, 1);
  const room = await page.locator('video').boundingBox();
  await page.mouse.click(room.x + room.width * bead.x, room.y + room.height * bead.y);
  assert.equal(await page.textContent('.verdict'), 'Right.');
  await page.click('.question .main');
  await page.click('.again >> nth=1');
  await page.waitForSelector('.aim', { state: 'visible' });
  const again = await page.locator('video').boundingBox();
  await page.mouse.click(again.x + again.width * (bead.x + 0.1), again.y + again.height * bead.y);
  assert.match(await page.textContent('.verdict'), /^Not there/);
  await shot(page, 'question-spot', false);
  const drawn = await page.locator('.aim rect.top').boundingBox(), film = await page.locator('video').boundingBox();
  near((drawn.x + drawn.width / 2 - film.x) / film.width, bead.x, 0.005);
  near((drawn.y + drawn.height / 2 - film.y) / film.height, bead.y, 0.005);
});

test('a spot is marked by touch on a telephone', async () => {
  const { page } = await opened('case/case.html', { viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true });
  await come_to(page, 1);
  const room = await page.locator('video').boundingBox();
  await page.touchscreen.tap(room.x + room.width * bead.x, room.y + room.height * bead.y);
  assert.equal(await page.textContent('.verdict'), 'Right.');
  await shot(page, 'phone-spot', false);
});

test('a spot is marked by keys alone, and the whole page can be used so', async () => {
  const { page } = await opened();
  await come_to(page, 1);
  assert.equal(await page.evaluate(() => document.activeElement.className), 'aim');
  for (let i = 0; i < 2; ++i) await page.keyboard.press('ArrowDown');
  await page.keyboard.press('Shift+ArrowRight');
  assert.equal(await page.getAttribute('.aim', 'aria-valuetext'), '51 % from the left, 54 % from the top');
  await page.keyboard.press('Enter');
  assert.equal(await page.textContent('.verdict'), 'Right.');
  await page.keyboard.press('Tab');
  assert.equal(await page.evaluate(() => document.activeElement.textContent), 'Go on');
  await page.keyboard.press('Enter');
  await page.waitForFunction(() => !document.querySelector('video').paused);
});

test('a question\'s mark on the timeline asks it', async () => {
  const { page } = await opened();
  await page.click('.stop.ask >> nth=1');
  await page.waitForSelector('.question', { state: 'visible' });
  assert.match(await page.textContent('.question h2'), /Where is the bead\?/);
});

test('where the browser keeps nothing, the score is counted all the same and the page says so', async () => {
  const context = await browser.newContext();
  const page = await context.newPage();
  await page.addInitScript(() => { Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('refused', 'SecurityError'); } }); });
  await page.goto(`${here}/case/case.html`);
  await page.waitForFunction(() => document.querySelector('video').readyState >= 2);
  await page.click('.again >> nth=0');
  await page.click('.choices button >> nth=1');
  assert.match(await page.textContent('#score'), /^1 right of 1 answered; 2 in all\. This browser keeps nothing/);
});

test('no violation is seen in light and in dark, on a wide page and at 360 pixels', async () => {
  for (const colorScheme of ['light', 'dark'])
    for (const width of [1366, 360]) {
      const { page } = await opened('case/case.html', { colorScheme, viewport: { width, height: 740 } });
      await page.fill('#sought', 'wax');
      await examined(page, `${colorScheme} at ${width}, searching`);
      await page.fill('#sought', '');
      await examined(page, `${colorScheme} at ${width}`);
      await shot(page, `${colorScheme}-${width}`);
      await page.context().close();
    }
});

test('it prints as a handout of two pages', async () => {
  const { page } = await opened();
  const pdf = (await page.pdf({ preferCSSPageSize: true, printBackground: true, ...(shots ? { path: `${shots}/printed.pdf` } : {}) })).toString('latin1');
  assert.equal((pdf.match(/\/Type\s*\/Page\b(?!s)/g) || []).length, 2);
});

test('without its script the page still shows film, events and words', async () => {
  const context = await browser.newContext({ javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(`${here}/case/case.html`);
  assert.notEqual(await page.getAttribute('video', 'controls'), null);
  for (const words of ['Blockage found: complete, hard wax', 'An engineer hears less', 'Both canals are clear.']) assert.ok(await page.isVisible(`text=${words}`), words);
  assert.equal(await page.isVisible('#play'), false);
});

test('the teaching set leads to the case, and has no violation either', async () => {
  for (const colorScheme of ['light', 'dark']) {
    const { page, asked, faults } = await opened('index.html', { colorScheme });
    await examined(page, `set, ${colorScheme}`);
    await shot(page, `set-${colorScheme}`);
    assert.equal(await page.textContent('h1'), 'Ears, week 1');
    await page.click('h2 a');
    assert.match(await page.textContent('h1'), /Wax on the right/);
    assert.deepEqual(asked.filter((url) => !url.startsWith(`${here}/`)), []);
    assert.deepEqual(faults, []);
  }
});
