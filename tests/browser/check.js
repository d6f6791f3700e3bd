// SPDX-License-Identifier: GPL-3.0-or-later
// Looks at a report in a browser, inside a frame as wide as a phone and as a desk: TAP lines into #results.
// The page that loads this has a frame #page and in its body data-pictures="flow ladder ...", data-sections="...".
'use strict';

const lines = [];
let number = 0;
function say(name, check) {
    let faults;
    try {
        faults = check();
    } catch (error) {
        faults = [String(error)];
    }
    number++;
    faults.slice(0, 12).forEach((fault) => lines.push('# ' + fault));
    if (faults.length > 12) lines.push('# ... and ' + (faults.length - 12) + ' more');
    lines.push((faults.length ? 'not ok ' : 'ok ') + number + ' - ' + name);
}
const words = (element) => '"' + element.textContent.trim().replace(/\s+/g, ' ').slice(0, 60) + '"';

// ---- colours: WCAG 2.2, relative luminance and contrast ratio ----

function parse(colour) {
    const parts = colour.match(/[\d.]+/g);
    return parts ? parts.map(Number).concat(parts.length < 4 ? [1] : []) : [0, 0, 0, 0];
}
function over(top, below) {
    return [0, 1, 2].map((i) => top[i] * top[3] + below[i] * (1 - top[3])).concat([1]);
}
function luminance(colour) {
    const linear = colour.slice(0, 3).map((v) => v / 255)
        .map((v) => (v <= 0.04045 ? v / 12.92 : Math.pow((v + 0.055) / 1.055, 2.4)));
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
}
function ratio(a, b) {
    const [high, low] = [luminance(a), luminance(b)].sort((x, y) => y - x);
    return (high + 0.05) / (low + 0.05);
}
function needed(style) {
    const size = parseFloat(style.fontSize);
    return size >= 24 || (size >= 18.66 && Number(style.fontWeight) >= 700) ? 3 : 4.5;
}

function groundOf(view, element) {
    const layers = [];
    for (let e = element; e; e = e.parentElement) layers.push(parse(view.getComputedStyle(e).backgroundColor));
    return layers.reverse().reduce((below, top) => over(top, below), [255, 255, 255, 1]);
}

function wordContrast(view, doc) {
    const faults = [];
    const walker = doc.createTreeWalker(doc.body, view.NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
        const element = walker.currentNode.parentElement;
        if (!walker.currentNode.data.trim() || element.closest('svg,script,style')) continue;
        const style = view.getComputedStyle(element);
        const found = ratio(parse(style.color), groundOf(view, element));
        if (!(found >= needed(style))) faults.push(words(element) + ' has contrast ' + found.toFixed(2));
    }
    return faults;
}

// What is painted below the middle of the words of a picture.
function paintedBelow(view, doc, svg, text) {
    const box = text.getBoundingClientRect();
    const seen = doc.elementsFromPoint((box.left + box.right) / 2, (box.top + box.bottom) / 2)
        .filter((e) => svg.contains(e) && e !== svg && !e.closest('text'));
    const layers = [];
    for (const shape of seen) {
        const style = view.getComputedStyle(shape);
        const lined = style.fill === 'none' || shape.tagName === 'line';
        const paint = lined ? style.stroke : style.fill;
        // a hairline behind words does not make them harder to read
        if (!paint || paint === 'none' || (lined && parseFloat(style.strokeWidth) < 3)) continue;
        const colour = parse(paint);
        colour[3] *= Number(style.opacity) * Number(lined ? style.strokeOpacity : style.fillOpacity);
        layers.push(colour);
        if (colour[3] >= 1) break;
    }
    return layers.reverse().reduce((below, top) => over(top, below), groundOf(view, svg));
}

function pictureContrast(view, doc) {
    const faults = [];
    doc.querySelectorAll('figure svg').forEach((svg) => svg.querySelectorAll('text').forEach((text) => {
        text.scrollIntoView({block: 'center', inline: 'center'});
        const style = view.getComputedStyle(text);
        const halo = style.stroke !== 'none' && style.paintOrder.startsWith('stroke');
        const below = halo ? parse(style.stroke) : paintedBelow(view, doc, svg, text);
        const found = ratio(parse(style.fill), below);
        if (!(found >= 4.5))
            faults.push(svg.querySelector('title').textContent + ': ' + words(text) + ' has contrast ' + found.toFixed(2));
    }));
    return faults;
}

// ---- pictures: words inside their picture, none over another ----

function pictureWords(doc) {
    const cut = [];
    const overlaps = [];
    doc.querySelectorAll('figure svg').forEach((svg) => {
        const name = svg.querySelector('title').textContent;
        const view = svg.viewBox.baseVal;
        const frame = svg.getBoundingClientRect();
        const scale = view.width / frame.width;
        const texts = Array.from(svg.querySelectorAll('text')).filter((t) => t.textContent.trim()).map((text) => {
            const r = text.getBoundingClientRect();
            // letters take less height than their line
            const less = 0.15 * r.height;
            return {text, left: (r.left - frame.left) * scale, right: (r.right - frame.left) * scale,
                top: (r.top + less - frame.top) * scale, bottom: (r.bottom - less - frame.top) * scale};
        });
        texts.forEach((a, i) => {
            if (a.left < -0.5 || a.top < -0.5 || a.right > view.width + 0.5 || a.bottom > view.height + 0.5)
                cut.push(name + ': ' + words(a.text));
            texts.slice(i + 1).forEach((b) => {
                const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
                const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
                if (wide > 1 && high > 1) overlaps.push(name + ': ' + words(a.text) + ' and ' + words(b.text));
            });
        });
    });
    return [cut, overlaps];
}

// ---- structure ----

function structure(doc) {
    const faults = [];
    let level = 0;
    doc.querySelectorAll('h1,h2,h3,h4,h5,h6').forEach((heading) => {
        const at = Number(heading.tagName[1]);
        if (at > level + 1) faults.push('heading ' + words(heading) + ' skips a level');
        level = at;
    });
    if (doc.querySelectorAll('h1').length !== 1) faults.push('not one h1');
    const ids = Array.from(doc.querySelectorAll('[id]')).map((e) => e.id);
    ids.filter((id, i) => ids.indexOf(id) !== i).forEach((id) => faults.push('id ' + id + ' twice'));
    doc.querySelectorAll('[aria-labelledby],[aria-describedby]').forEach((e) => {
        [e.getAttribute('aria-labelledby'), e.getAttribute('aria-describedby')].filter(Boolean)
            .flatMap((v) => v.split(' ')).filter((id) => !doc.getElementById(id))
            .forEach((id) => faults.push('no element ' + id));
    });
    doc.querySelectorAll('a[href^="#"]').forEach((a) => {
        if (!doc.getElementById(a.getAttribute('href').slice(1))) faults.push('link to nowhere: ' + words(a));
    });
    if (!doc.documentElement.lang) faults.push('no language');
    for (const landmark of ['header', 'nav', 'main'])
        if (doc.querySelectorAll(landmark).length !== 1) faults.push('not one ' + landmark);
    const first = doc.querySelector('a,button,[tabindex]');
    if (!first.classList.contains('skip')) faults.push('the skip link is not first');
    return faults;
}

function tables(doc) {
    const faults = [];
    doc.querySelectorAll('table').forEach((table) => {
        const caption = table.caption ? words(table.caption) : '(none)';
        if (!table.caption || !table.caption.textContent.trim()) faults.push('a table without caption');
        table.querySelectorAll('thead th').forEach((th) => {
            if (th.scope !== 'col' || !th.textContent.trim()) faults.push(caption + ': a column without title');
        });
        Array.from(table.tBodies[0].rows).forEach((row) => {
            if (row.cells[0].tagName !== 'TH' || row.cells[0].scope !== 'row') faults.push(caption + ': a row without head');
            if (!table.tHead || row.cells.length !== table.tHead.rows[0].cells.length) faults.push(caption + ': a row of another length');
        });
    });
    if (doc.querySelectorAll('table').length === 0) faults.push('no tables');
    return faults;
}

function pictures(doc, expected) {
    const faults = [];
    expected.forEach((name) => {
        if (!doc.querySelector('figure[data-name="' + name + '"] svg')) faults.push('no picture ' + name);
    });
    doc.querySelectorAll('figure').forEach((figure) => {
        const svg = figure.querySelector('svg');
        const caption = figure.querySelector('figcaption');
        if (!svg || svg.getBoundingClientRect().width < 50) faults.push(figure.id + ': nothing to be seen');
        if (!svg || svg.getAttribute('role') !== 'img' || !svg.querySelector(':scope>title'))
            faults.push(figure.id + ': no title');
        if (!caption || caption.textContent.trim().length < 10) faults.push(figure.id + ': no words for it');
    });
    return faults;
}

function sections(doc, expected) {
    return expected.filter((id) => {
        const section = doc.getElementById(id);
        return !section || section.tagName !== 'SECTION' || section.textContent.trim().length < 40;
    }).map((id) => 'no section ' + id);
}

function sorting(doc) {
    const faults = [];
    const table = doc.querySelector('table[data-sort]');
    if (!table) return ['no table to sort'];
    const heads = Array.from(table.tHead.rows[0].cells);
    const column = heads.findIndex((head, i) => i > 0 && table.tBodies[0].rows[0].cells[i].dataset.n !== undefined);
    const value = (row) => Number(row.cells[column].dataset.n);
    const count = table.tBodies[0].rows.length;
    for (const direction of ['ascending', 'descending']) {
        heads[column].querySelector('button').click();
        const values = Array.from(table.tBodies[0].rows).map(value).filter((v) => !isNaN(v));
        const sign = direction === 'ascending' ? 1 : -1;
        if (values.some((v, i) => i > 0 && sign * (v - values[i - 1]) < 0)) faults.push('not ' + direction);
        if (heads[column].getAttribute('aria-sort') !== direction) faults.push('does not say ' + direction);
    }
    if (table.tBodies[0].rows.length !== count) faults.push('rows are lost');
    return faults;
}

// What sticks out sideways of the page, other than in a region that scrolls by itself.
function overflow(view, doc) {
    const faults = [];
    const width = doc.documentElement.clientWidth;
    if (doc.documentElement.scrollWidth > width)
        faults.push('the page is ' + doc.documentElement.scrollWidth + ' px wide in ' + width);
    doc.querySelectorAll('main *,header *,nav *').forEach((e) => {
        const box = e.getBoundingClientRect();
        if (box.width > 0 && box.right + view.scrollX > width + 1 && !e.closest('.scroll,.drawing'))
            faults.push(e.tagName + ' ' + words(e) + ' ends at ' + Math.round(box.right));
    });
    doc.querySelectorAll('.scroll,.drawing').forEach((region) => {
        if (region.scrollWidth > region.clientWidth && region.tabIndex !== 0)
            faults.push('a region that scrolls cannot be reached by keyboard');
    });
    return faults;
}

// What the browser fetched, and what the page could fetch: the browser does not tell of files beside the page.
function fetched(view, doc) {
    const faults = view.performance.getEntriesByType('resource').map((e) => 'fetched ' + e.name);
    doc.querySelectorAll('[src],[srcset],[poster],[data],[background],link[href]').forEach((e) => faults.push('would fetch: ' + e.outerHTML.slice(0, 80)));
    doc.querySelectorAll('svg [href]').forEach((e) => {
        if (!e.getAttribute('href').startsWith('#')) faults.push('would fetch: ' + e.outerHTML.slice(0, 80));
    });
    doc.querySelectorAll('style,[style]').forEach((e) => {
        const style = e.tagName === 'STYLE' ? e.textContent : e.getAttribute('style');
        if (/@import|url\((?!["']?#)/.test(style)) faults.push('a style would fetch something');
    });
    return faults;
}

addEventListener('load', () => {
    const frame = document.getElementById('page');
    const list = (name) => (document.body.dataset[name] || '').split(' ').filter(Boolean);
    for (const width of [390, 1100]) {
        const at = ' at ' + width + ' px';
        frame.style.width = width + 'px';
        const view = frame.contentWindow;
        const doc = frame.contentDocument;
        view.dispatchEvent(new view.Event('resize'));
        if (view.innerWidth !== width) lines.push('# the frame is ' + view.innerWidth + ' px wide');
        say('nothing sticks out' + at, () => overflow(view, doc));
        say('no words of a picture are cut off' + at, () => pictureWords(doc)[0]);
        say('no words of a picture lie over others' + at, () => pictureWords(doc)[1]);
        say('contrast of words' + at, () => wordContrast(view, doc));
        say('contrast of words in pictures' + at, () => pictureContrast(view, doc));
    }
    const view = frame.contentWindow;
    const doc = frame.contentDocument;
    say('nothing was fetched', () => fetched(view, doc));
    say('all sections are there', () => sections(doc, list('sections')));
    say('all pictures are there, with words for each', () => pictures(doc, list('pictures')));
    say('headings, ids, links, landmarks', () => structure(doc));
    say('tables have captions and heads', () => tables(doc));
    say('a table is sorted by its buttons', () => sorting(doc));
    const dark = view.matchMedia('(prefers-color-scheme: dark)').matches;
    say('the colours asked for: ' + document.body.dataset.colours,
        () => (dark === (document.body.dataset.colours === 'dark') ? [] : ['other']));
    document.getElementById('results').textContent = lines.join('\n');
});
