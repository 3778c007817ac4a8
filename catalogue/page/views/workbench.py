import streamlit as st


def show(shelf):
    st.write("to come")
