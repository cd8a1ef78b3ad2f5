"""The house keeps its own rules: arrows, start-up, style, documents."""
