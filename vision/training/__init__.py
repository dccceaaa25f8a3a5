"""How the own network's pictures are rendered and how it is trained. Needs PyTorch; nothing here runs with the app."""
