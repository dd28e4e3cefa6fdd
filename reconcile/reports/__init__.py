"""What a run found out, as text for people, JSON for programs and CSV for spreadsheets: each `render(...) -> str`."""
