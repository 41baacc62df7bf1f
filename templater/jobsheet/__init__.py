"""From rows and pictures to the job sheet, as one HTML page and as PDF."""
