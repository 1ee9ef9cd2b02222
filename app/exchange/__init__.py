"""What goes out in plain files and comes in from them: the export, and CSV files of customers, parts and past jobs."""
