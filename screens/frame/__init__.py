"""What Streamlit's page lacks for people who use it by key or by ear: landmarks, a skip link, names, and a kept focus."""
