"""Pictures of the fence: plan, strips, sheet, losses, comparisons."""
