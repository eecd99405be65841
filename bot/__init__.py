"""Home-programme adherence for pelvic-health physiotherapy, by chat."""
