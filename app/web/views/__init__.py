"""View models: one frozen dataclass a page, everything a template may show, already in words."""
