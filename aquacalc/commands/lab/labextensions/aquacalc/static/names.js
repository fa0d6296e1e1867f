// The name of a slider stands beside it, where a screen reader does not look for it: it would say "slider, 220".
// Every slider, box and list of a row of a panel is told which words beside it are its name.
// Written by hand, in the form in which JupyterLab takes an extension that is built already.
(() => {
  const UNNAMED = '.noUi-handle, input[type=number], input[type=text], select';
  let count = 0;

  const name = (node) => {
    if ([...(node.labels || [])].some((label) => label.textContent.trim())) return;
    const row = node.closest('.widget-hbox') || node.closest('.jupyter-widgets');
    const before = [...(row ? row.querySelectorAll('.widget-label') : [])].filter(
      (label) => label.textContent.trim() && label.compareDocumentPosition(node) & Node.DOCUMENT_POSITION_FOLLOWING
    );
    for (const label of before) label.id ||= `aquacalc-name-${(count += 1)}`;
    if (before.length) node.setAttribute('aria-labelledby', before.map((label) => label.id).join(' '));
  };

  const activate = () =>
    new MutationObserver((changes) => {
      for (const change of changes)
        for (const added of change.addedNodes)
          if (added instanceof HTMLElement) added.querySelectorAll(UNNAMED).forEach(name);
    }).observe(document.body, { childList: true, subtree: true });

  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB.aquacalc = {
    init: () => {},
    get: async () => () => ({
      __esModule: true,
      default: { id: 'aquacalc:names', autoStart: true, activate },
    }),
  };
})();
