"""For the next builder: the job as one PDF, what it carries taken out again, and two boats side by side."""
