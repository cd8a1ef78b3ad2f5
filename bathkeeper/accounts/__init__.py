"""What is conserved on the shelf: reagents, anodes and titrants bought, used, counted; what a run costs."""
