"""One module and one template a page: the context as a dataclass, and the view that fills it."""
