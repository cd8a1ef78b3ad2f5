"""From knowing to doing: doses, treatments, anodes, replace or refresh, lay-up, causes."""
