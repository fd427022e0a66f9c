"""Room: the browser's modules, linked into one text and run outside a browser."""
