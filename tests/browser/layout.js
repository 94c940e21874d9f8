// What does not fit, each as a sentence.
(() => {
  const found = [];
  const page = document.documentElement;
  if (page.scrollWidth > page.clientWidth)
    found.push(`the page is ${page.scrollWidth} wide on a screen of ${page.clientWidth}`);
  const seen = node => {
    const box = node.getBoundingClientRect();
    return box.width > 0 && box.height > 0;
  };
  const words = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (words.nextNode()) {
    const node = words.currentNode;
    if (!node.data.trim() || node.parentElement.closest('svg') || !seen(node.parentElement)) continue;
    // A table in an opened fold may be drawn sideways with a finger.
    if (node.parentElement.closest('details')) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const box of range.getClientRects())
      if (box.left < -0.5 || box.right > page.clientWidth + 0.5)
        found.push(`"${node.data}" stands from ${box.left} to ${box.right}`);
  }
  for (const box of document.querySelectorAll('.scroll'))
    if (seen(box) && !box.closest('details') && box.scrollWidth > box.clientWidth + 1)
      found.push(`a table is ${box.scrollWidth} wide in a place of ${box.clientWidth}: ${box.ariaLabel}`);
  for (const svg of document.querySelectorAll('svg')) {
    if (!seen(svg)) continue;
    const view = svg.viewBox.baseVal;
    const place = svg.getBoundingClientRect();
    const scale = place.width / view.width;
    // Where the text is seen, which a style may have moved, in the picture's own units.
    const box = text => {
      const seen = text.getBoundingClientRect();
      return {
        x: (seen.x - place.x) / scale, y: (seen.y - place.y) / scale, width: seen.width / scale, height: seen.height / scale,
      };
    };
    const texts = [...svg.querySelectorAll('text')].map(it => [it.textContent, box(it)]);
    if (!texts.length) found.push(`no text in ${svg.ariaLabel}`);
    for (const [words, box] of texts)
      if (box.x < -1 || box.y < -1 || box.x + box.width > view.width + 1 || box.y + box.height > view.height + 1)
        found.push(`"${words}" leaves the picture: ${box.x} to ${box.x + box.width}, ${box.y} to ${box.y + box.height}`);
    texts.forEach(([words, a], number) => {
      for (const [other, b] of texts.slice(number + 1)) {
        const across = Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x);
        // Boxes of text are higher than its letters: they may touch.
        const up = Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y);
        if (across > 1 && up > 0.15 * a.height)
          found.push(`"${words}" runs into "${other}" in ${svg.ariaLabel}`);
      }
    });
    const pixels = scale * parseFloat(getComputedStyle(svg.querySelector('text')).fontSize);
    if (pixels < 9) found.push(`letters of ${pixels} pixels in ${svg.ariaLabel}`);
  }
  return found;
})()
