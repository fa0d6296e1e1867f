// The name of a slider stands beside it, where a screen reader does not look for it: it would say "slider, 220".
// Every slider, box and list of a row of a panel is told which words beside it are its name. The value is said
// with its unit, without a computer's rounding (429.99999999999994), and a size by its name and not its place.
// Written by hand, in the form in which JupyterLab takes an extension that is built already.
(() => {
  const UNNAMED = '.noUi-handle, input[type=number], input[type=text], select';
  // Arrow keys here are for the reader's choice and not for the cell above or below.
  const ARROWS = '.noUi-handle, .widget-radio-box input, .jupyter-widgets select';
  let count = 0;

  const name = (node) => {
    if (node.title) return node.setAttribute('aria-label', node.title);
    if ([...(node.labels || [])].some((label) => label.textContent.trim())) return;
    const row = node.closest('.widget-hbox') || node.closest('.jupyter-widgets');
    const before = [...(row ? row.querySelectorAll('.widget-label') : [])].filter(
      (label) => label.textContent.trim() && label.compareDocumentPosition(node) & Node.DOCUMENT_POSITION_FOLLOWING
    );
    for (const label of before) label.id ||= `aquacalc-name-${(count += 1)}`;
    if (before.length) node.setAttribute('aria-labelledby', before.map((label) => label.id).join(' '));
  };

  const PLAY = { 'fa-play': 'Play or pause the water', 'fa-stop': 'Stop the water', 'fa-retweet': 'Begin again' };
  const play = (button) => {
    const icon = Object.keys(PLAY).find((kind) => button.querySelector(`.${kind}`));
    if (icon) button.setAttribute('aria-label', PLAY[icon]);
  };

  const say = (handle) => {
    const row = handle.closest('.widget-hbox');
    if (!row) return;
    const value = Number(handle.getAttribute('aria-valuetext'));
    if (Number.isNaN(value)) return; // said already
    const size = row.querySelector('select')?.options[Math.round(value)]?.text;
    const unit = row.querySelector('.widget-label')?.textContent.match(/\(([^()]*)\)$/)?.[1] || '';
    const said = size || `${Number(value.toPrecision(10))} ${unit}`.trim();
    if (said !== handle.getAttribute('aria-valuetext')) handle.setAttribute('aria-valuetext', said);
  };

  // Lines of a text in a widget stand as close as those of the page; a fraction in a fraction is not smaller again.
  const sheet = document.createElement('style');
  sheet.textContent =
    '.jupyter-widgets.widget-html > .widget-html-content { line-height: 1.45; } .math mfrac > * { math-style: normal; }' +
    '.jp-Placeholder-content { min-width: 0; overflow: hidden; }'; // a folded line does not widen the page

  const activate = () => {
    document.head.append(sheet);
    new MutationObserver((changes) => {
      for (const change of changes)
        if (change.attributeName === 'title') change.target.matches(UNNAMED) && name(change.target);
        else if (change.type === 'attributes') say(change.target);
        else
          for (const added of change.addedNodes)
            if (added instanceof HTMLElement) {
              added.querySelectorAll(UNNAMED).forEach(name);
              added.querySelectorAll('.noUi-handle').forEach(say);
              added.querySelectorAll(ARROWS).forEach((node) => (node.dataset.lmSuppressShortcuts = 'true'));
              added.querySelectorAll('.widget-play button').forEach(play);
            }
    }).observe(document.body, {
      childList: true, subtree: true, attributes: true, attributeFilter: ['aria-valuetext', 'title'],
    });
  };

  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB.aquacalc = {
    init: () => {},
    get: async () => () => ({
      __esModule: true,
      default: { id: 'aquacalc:names', autoStart: true, activate },
    }),
  };
})();
