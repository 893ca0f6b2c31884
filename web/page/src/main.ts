import { mount } from 'svelte'
import 'uplot/dist/uPlot.min.css'
import './page.css'
import App from './App.svelte'

const target = document.getElementById('page')
if (target) mount(App, { target })
