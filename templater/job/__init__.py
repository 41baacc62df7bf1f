"""From a solved boat to the job: drilling, hardware, spares, order of work; one record each."""
