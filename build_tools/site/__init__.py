"""Pages, data and search of the site, and the build."""
