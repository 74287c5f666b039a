#!/usr/bin/env python3
"""Opens burn sheets and verdicts in a browser without a screen and looks at them as a person would.

    sheet_in_browser.py FOLDER [--pictures FOLDER]

Every .html in FOLDER is opened at the width of a telephone, of a desk and of an A4 sheet, in light and dark. A finding is
text that runs out of the page or of its box, texts that overlap, contrast below 4.5 to 1 (WCAG 2.2, success criterion
1.4.3), letters below 8 pt on the screen or 6.5 pt on paper, a first sum or finding that a telephone shows only after
scrolling, a label that is not as large as it says, and any request that leaves the page. Then each is printed on A4 and
Letter: a card, a picture or a row that a page break cuts is a finding, a first sum that is not on page 1, and more sheets
of paper than there should be: 1 for one chip, or 2 when it has many banks; 9 for sixteen; 2 for a verdict. Exit code 1 when there is a finding. Needs
Debian's `chromium`; talks to it by its DevTools pipe, so nothing else is needed.
"""

import base64
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--hide-scrollbars", "--remote-debugging-pipe",
]

# Inches; what is left of the paper between margins of 14 mm, in CSS pixels of 1/96 inch.
PAPERS = {"A4": (210 / 25.4, 297 / 25.4), "Letter": (8.5, 11)}
MARGIN = 14 / 25.4


def inner(paper):
    width, height = PAPERS[paper]
    return round((width - 2 * MARGIN) * 96), round((height - 2 * MARGIN) * 96)


# What a telephone shows without scrolling, in CSS pixels.
FOLD = 800

VIEWS = [
    # name, width, media, colour schemes
    ("phone", 390, "screen", ["light", "dark"]),
    ("desktop", 1280, "screen", ["light", "dark"]),
    ("A4", inner("A4")[0], "print", ["light", "dark"]),
    ("Letter", inner("Letter")[0], "print", ["light"]),
]

# Runs in the page, and gives its findings as a list of sentences.
LOOK = r"""
(paper, fold) => {
  const found = [];
  const say = (what, text) => found.push(what + ': "' + text.trim().slice(0, 60) + '"');
  const width = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth > width) found.push('the page is wider than the screen');

  // Every piece of text with the boxes of its lines.
  const texts = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode;
    if (!node.data.trim()) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    let boxes = [...range.getClientRects()].filter(b => b.width > 0.5 && b.height > 0.5);
    const element = node.parentElement;
    if (element.closest('svg')) {
      if (!element.closest('text')) continue; // the title of a picture
      boxes = [element.getBoundingClientRect()];
    }
    if (boxes.length) texts.push({node, element, boxes, text: node.data});
  }
  if (texts.length < 12) found.push('there is hardly any text: ' + texts.length);

  const blockOf = element => {
    while (getComputedStyle(element).display === 'inline') element = element.parentElement;
    return element;
  };
  for (const box of document.body.querySelectorAll('*'))
    if (!box.closest('svg') && box.clientWidth && box.scrollWidth > box.clientWidth + 1 && ![...box.children].some(b => b.scrollWidth > b.clientWidth + 1))
      say('too wide for its ' + box.tagName.toLowerCase(), box.textContent);

  // Letters fill their line only in part: of its height the middle counts.
  const core = b => ({left: b.left, right: b.right, top: b.top + b.height * 0.18, bottom: b.bottom - b.height * 0.18});
  const cut = (a, b) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1
    && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 1;

  texts.forEach(({element, boxes, text}, i) => {
    for (const box of boxes) {
      if (box.left < -1 || box.right > width + 1) say('runs out of the page', text);
      const own = (svg => (svg || blockOf(element)).getBoundingClientRect())(element.closest('svg'));
      if (box.left < own.left - 1 || box.right > own.right + 1 || core(box).top < own.top - 1 || core(box).bottom > own.bottom + 1)
        say('runs out of its box', text);
    }
    for (const other of texts.slice(i + 1))
      for (const a of boxes) for (const b of other.boxes)
        if (cut(core(a), core(b))) say('overlaps "' + other.text.trim().slice(0, 40) + '"', text);
  });

  // Contrast, from the colours that are painted one over the other.
  const channels = colour => {
    const m = colour.match(/rgba?\(([^)]+)\)/);
    if (!m) return null;
    const [r, g, b, a = 1] = m[1].split(/[ ,\/]+/).map(Number);
    return {r, g, b, a};
  };
  const light = ({r, g, b}) => {
    const f = v => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; };
    return 0.2126 * f(r) + 0.7152 * f(g) + 0.0722 * f(b);
  };
  const paint = (element, text) => {
    const style = getComputedStyle(element);
    if (!element.namespaceURI.includes('svg') || element.tagName.toLowerCase() === 'svg') return channels(style.backgroundColor);
    if (text && element.contains(text)) return null;
    if (['line', 'g', 'text', 'path', 'svg'].includes(element.tagName.toLowerCase()) || style.fill === 'none') return null;
    return style.fill.includes('url') ? 'texture' : channels(style.fill);
  };
  const page = channels(getComputedStyle(document.documentElement).backgroundColor);
  const white = {r: 255, g: 255, b: 255, a: 1};
  for (const {element, boxes, text} of texts) {
    const style = getComputedStyle(element);
    const svg = !!element.closest('svg');
    const ink = channels(svg ? style.fill : style.color);
    let ground = null;
    for (const box of boxes) for (const x of [box.left + 1, (box.left + box.right) / 2, box.right - 1]) {
      ground = null;
      for (const under of document.elementsFromPoint(x, (box.top + box.bottom) / 2)) {
        const colour = paint(under, element);
        if (colour === 'texture') { say('stands on a texture', text); break; }
        if (colour && colour.a > 0.99) { ground = colour; break; }
      }
      ground = ground || (page && page.a > 0.99 ? page : white);
      const [a, b] = [light(ink), light(ground)].sort((a, b) => b - a);
      const ratio = (a + 0.05) / (b + 0.05);
      if (ratio < 4.5) say('contrast ' + ratio.toFixed(2) + ' to 1', text);
    }
    const points = parseFloat(style.fontSize) * 0.75;
    if (points < (element.closest('.label') || paper ? 6.5 : 8)) say('letters of ' + points.toFixed(1) + ' pt', text);
  }
  // A label's size in millimetres is on it and in the words above it.
  for (const label of document.querySelectorAll('.label')) {
    const box = label.getBoundingClientRect(), mm = v => v * 25.4 / 96;
    const words = label.closest('section').textContent.replace(/ mm for.*?pins/g, ' mm');
    const said = [...words.matchAll(/(\d+) x (\d+) mm/g)].map(m => [Number(m[1]), Number(m[2])]);
    if (!said.some(([w, h]) => Math.abs(mm(box.width) - w) < 0.1 && Math.abs(mm(box.height) - h) < 0.1))
      say('a label of ' + mm(box.width).toFixed(1) + ' x ' + mm(box.height).toFixed(1) + ' mm', label.textContent);
  }
  const first = document.querySelector('.sheet .first, .sheet .none, .finding p');
  if (!first) found.push('there is no first sum and no finding');
  else if (fold && first.getBoundingClientRect().bottom > fold) say('below the fold', first.textContent);
  if (document.scripts.length) found.push('there is a script');
  return [...new Set(found)];
}
"""


# Marks where each thing that must stay whole begins and ends, and links to the marks, so that the printed page says on which
# sheet of paper each is. Gives what each is, and the first sum or finding. The marks have no size.
MARK = r"""
() => {
  const whole = '.decide li, .sheet tbody tr, .warn, .chip, .picture, .cautions, .cautions li, .strip, .label, .finding, .set, .pair, .differing';
  const links = document.createElement('div');
  links.style = 'position:absolute;top:0;left:0;font-size:1px;line-height:1px;height:1px;overflow:hidden';
  const mark = (parent, before, id) => {
    const at = document.createElement('span');
    at.id = id;
    before ? parent.prepend(at) : parent.append(at);
    const link = document.createElement('a');
    link.href = '#' + id;
    link.textContent = '.';
    links.append(link);
  };
  const end = (element, step) => {
    let at = element;
    while (at[step] && at[step].tagName !== 'svg' && getComputedStyle(at[step]).display !== 'none') at = at[step];
    while (['TABLE', 'TBODY', 'THEAD', 'TR'].includes(at.tagName)) at = at[step];
    return at;
  };
  const what = [...document.querySelectorAll(whole)].map((element, i) => {
    mark(end(element, 'firstElementChild'), true, `k${i}s`);
    mark(end(element, 'lastElementChild'), false, `k${i}e`);
    return (element.className || element.tagName.toLowerCase()) + ': "' + element.textContent.trim().slice(0, 50) + '"';
  });
  const first = document.querySelector('.sheet .first, .sheet .none, .finding p');
  if (first) mark(first, true, 'first');
  document.body.append(links);
  return what;
}
"""


def sheets_of(pdf):
    """The number of sheets, and on which each mark is, from 1 up."""
    objects = dict(re.findall(rb"\n(\d+) 0 obj\s(.*?)\nendobj", pdf, re.S))
    pages = [n for n, body in objects.items() if re.search(rb"/Type /Page\b", body)]
    kids = [body for body in objects.values() if b"/Type /Pages" in body]
    order = [n for body in kids for n in re.findall(rb"(\d+) 0 R", body.split(b"/Kids")[1].split(b"]")[0])]
    numbers = {n: i for i, n in enumerate([n for n in order if n in pages], 1)}
    marks = re.findall(rb"/(k\d+[se]|first) \[(\d+) 0 R", pdf)
    return len(pages), {name.decode(): numbers[n] for name, n in marks}


def most_sheets(kind, chips, banks):
    # A long table of banks takes a sheet of its own.
    return {"alone": 2 if banks > 8 else 1, "verdict": 2}.get(kind, 3 + -(-chips // 3))


class Browser:
    """Chromium without a screen, with an empty profile of its own."""

    def __init__(self):
        self.profile = tempfile.mkdtemp(prefix="sheet-browser-")
        ours_read, its_write = os.pipe()
        its_read, ours_write = os.pipe()

        def connect():
            # The browser reads commands from 3 and writes answers to 4; first away from both, should they be in use.
            read, write = os.dup(its_read), os.dup(its_write)
            while read < 5:
                read = os.dup(read)
            while write < 5:
                write = os.dup(write)
            os.dup2(read, 3)
            os.dup2(write, 4)

        program = next(filter(None, map(shutil.which, ["chromium", "chromium-browser"])), None)
        if program is None:
            sys.exit("chromium is not installed")
        self.process = subprocess.Popen(
            [program, *FLAGS, f"--user-data-dir={self.profile}", "about:blank"],
            preexec_fn=connect, close_fds=False, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )
        os.close(its_read)
        os.close(its_write)
        self.read, self.write = os.fdopen(ours_read, "rb"), os.fdopen(ours_write, "wb")
        self.count = 0
        self.events = []
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        self.session = None
        self.session = self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ["Page", "Network", "Runtime"]:
            self.ask(f"{domain}.enable")

    def message(self):
        data = bytearray()
        while (byte := self.read.read(1)) != b"\0":
            if not byte:
                sys.exit("the browser has gone away")
            data += byte
        return json.loads(data)

    def ask(self, method, **params):
        self.count += 1
        call = {"id": self.count, "method": method, "params": params}
        if getattr(self, "session", None):
            call["sessionId"] = self.session
        self.write.write(json.dumps(call).encode() + b"\0")
        self.write.flush()
        while True:
            answer = self.message()
            if answer.get("id") == self.count:
                if "error" in answer:
                    sys.exit(f"{method}: {answer['error']['message']}")
                return answer["result"]
            self.events.append(answer)

    def wait_for(self, event):
        while not any(e.get("method") == event for e in self.events):
            self.events.append(self.message())

    def evaluate(self, expression):
        answer = self.ask("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in answer:
            sys.exit(f"the look went wrong: {answer['exceptionDetails']}")
        return answer["result"].get("value")

    def close(self):
        self.session = None
        self.ask("Browser.close")
        self.process.wait(timeout=30)
        shutil.rmtree(self.profile, ignore_errors=True)


def look_at(browser, page, pictures):
    findings = []
    url = page.resolve().as_uri()
    for name, width, media, schemes in VIEWS:
        for scheme in schemes:
            browser.events.clear()
            browser.ask("Emulation.setEmulatedMedia", media=media,
                        features=[{"name": "prefers-color-scheme", "value": scheme}])
            size = {"deviceScaleFactor": 1, "mobile": name == "phone"}
            browser.ask("Emulation.setDeviceMetricsOverride", width=width, height=800, **size)
            browser.ask("Page.navigate", url=url)
            browser.wait_for("Page.loadEventFired")
            # The whole page on the screen, so that what lies under a point can be asked anywhere.
            height = browser.evaluate("Math.ceil(document.documentElement.getBoundingClientRect().height) + 40")
            browser.ask("Emulation.setDeviceMetricsOverride", width=width, height=height, **size)
            paper = inner(name)[1] if name in PAPERS else 0
            found = browser.evaluate(f"({LOOK})({paper}, {FOLD if name == 'phone' else 0})")
            for event in browser.events:
                request = event.get("params", {}).get("request", {}).get("url")
                if event.get("method") == "Network.requestWillBeSent" and request != url:
                    found.append(f"a request leaves the page: {request}")
            findings += [f"{page.name} {name} {scheme}: {text}" for text in found]
            if pictures:
                shot = browser.ask("Page.captureScreenshot", format="png", captureBeyondViewport=True)
                (pictures / f"{page.stem}-{name}-{scheme}.png").write_bytes(base64.b64decode(shot["data"]))
    browser.ask("Emulation.clearDeviceMetricsOverride")
    browser.ask("Emulation.setEmulatedMedia", media="", features=[])
    browser.events.clear()
    browser.ask("Page.navigate", url=url)
    browser.wait_for("Page.loadEventFired")
    kind = browser.evaluate("document.body.className")
    chips = browser.evaluate("document.querySelectorAll('.chip:not(.erased)').length")
    banks = browser.evaluate("document.querySelectorAll('.banks tbody tr').length")
    whole = browser.evaluate(f"({MARK})()")
    for name, (width, height) in PAPERS.items():
        pdf = browser.ask("Page.printToPDF", paperWidth=width, paperHeight=height, preferCSSPageSize=False,
                          printBackground=False, marginTop=MARGIN, marginBottom=MARGIN, marginLeft=MARGIN,
                          marginRight=MARGIN)
        data = base64.b64decode(pdf["data"])
        if pictures:
            (pictures / f"{page.stem}-{name}.pdf").write_bytes(data)
        sheets, marks = sheets_of(data)
        most = most_sheets(kind, chips, banks)
        if sheets > most:
            findings.append(f"{page.name} {name}: {sheets} sheets of paper, at most {most}")
        if marks.get("first") != 1:
            findings.append(f"{page.name} {name}: the first sum or finding is on sheet {marks.get('first')}")
        for i, what in enumerate(whole):
            start, end = marks.get(f"k{i}s"), marks.get(f"k{i}e")
            if start is None or start != end:
                findings.append(f"{page.name} {name}: cut between sheets {start} and {end}: {what}")
    return findings


def main():
    words = sys.argv[1:]
    pictures = None
    if "--pictures" in words:
        at = words.index("--pictures")
        pictures = pathlib.Path(words[at + 1])
        pictures.mkdir(parents=True, exist_ok=True)
        del words[at:at + 2]
    if len(words) != 1:
        sys.exit(__doc__)
    pages = sorted(pathlib.Path(words[0]).glob("**/*.html"))
    if not pages:
        sys.exit(f"no .html in {words[0]}")
    browser = Browser()
    findings = []
    for page in pages:
        findings += look_at(browser, page, pictures)
    browser.close()
    for text in findings:
        print(text)
    print(f"{len(pages)} sheets, {len(findings)} findings")
    sys.exit(1 if findings else 0)


main()
